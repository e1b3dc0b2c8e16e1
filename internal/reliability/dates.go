package reliability

import (
	"slices"
	"strconv"
	"time"
)

// dateForms are the dates that have one meaning only.
var dateForms = [...]string{time.DateOnly, "2.1.2006"}

// numberSessions calls sessions that are dates 1, 2, and so on for each target: people
// come on days of their own. Sessions stay as they are unless all are dates.
func numberSessions(scores []Score) {
	dates := make([]time.Time, len(scores))
	days := map[target][]time.Time{}
	for i := range scores {
		s := &scores[i]
		var ok bool
		if dates[i], ok = parseDate(s.Session); !ok {
			return
		}
		if t := s.target(); !slices.Contains(days[t], dates[i]) {
			days[t] = append(days[t], dates[i])
		}
	}
	for t := range days {
		slices.SortFunc(days[t], time.Time.Compare)
	}
	for i := range scores {
		s := &scores[i]
		s.Session = strconv.Itoa(1 + slices.Index(days[s.target()], dates[i]))
	}
}

func parseDate(text string) (time.Time, bool) {
	for _, form := range dateForms {
		if date, err := time.Parse(form, text); err == nil {
			return date, true
		}
	}
	return time.Time{}, false
}
