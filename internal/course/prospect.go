package course

import (
	"time"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
)

// Prospect is what the course says about evenness in the time to come.
type Prospect uint8

// The prospects.
const (
	TooFew    Prospect = iota // too few sessions to look ahead
	Reached                   // even now, as likely as not
	Forecast                  // a date is given
	Levelling                 // the course levels off below evenness
	NoDate                    // neither is likely enough
)

// Prospects lists them.
var Prospects = [...]Prospect{TooFew, Reached, Forecast, Levelling, NoDate}

// String is the code of the prospect in the project's code system.
func (p Prospect) String() string {
	return [...]string{"too-few-sessions", "reached", "forecast", "levelling-off", "no-date"}[p]
}

// fillProspects says of each test, and of those that decide together, what may be said
// about evenness. Where all have a date each of them has one, which is no later.
func (c *Course) fillProspects(p *protocol.Protocol) {
	sessions := len(c.Days)
	for _, i := range c.Deciding {
		sessions = min(sessions, c.Tests[i].Sessions)
	}
	if c.Complete() {
		c.All.Prospect = prospect(sessions, c.AllEven, &c.All, p.Course.Reach, p)
	}
	for i := range c.Tests {
		t := &c.Tests[i]
		reach := p.Course.ReachOne
		if c.All.Prospect == Forecast || c.All.Prospect == Reached {
			reach = p.Course.Reach
		}
		t.Outlook.Prospect = prospect(t.Sessions, func() float64 { return t.Now().Even }, &t.Outlook, reach, p)
	}
	c.fillLowest()
}

// fillLowest finds the test that levels off lowest, which keeps all of them from being even
// where they have no date.
func (c *Course) fillLowest() {
	c.Lowest = nil
	for _, i := range c.Deciding {
		if t := &c.Tests[i]; t.Outlook.Prospect == Levelling && (c.Lowest == nil || t.Outlook.Plateau < c.Lowest.Outlook.Plateau) {
			c.Lowest = t
		}
	}
	if c.Lowest != nil && c.All.Prospect == NoDate {
		c.All.Prospect = Levelling
	}
}

// Complete reports whether all tests decide that may.
func (c *Course) Complete() bool { return len(c.Deciding) == everyTrainedTest }

// prospect is what may be said of an outlook. How likely it is that all are even now takes
// a while to compute, and is asked for only where it matters.
func prospect(sessions int, even func() float64, o *Outlook, reach protocol.Threshold, p *protocol.Protocol) Prospect {
	percent := func(probability float64, from protocol.Threshold) bool {
		return 100*probability >= from.Value.Float64()
	}
	switch {
	case float64(sessions) < p.Trend.Sessions.Value.Float64():
		return TooFew
	case even() >= asLikelyAsNot:
		return Reached
	case percent(o.Reach, reach):
		return Forecast
	case percent(o.Short, p.Course.Levelling):
		return Levelling
	}
	return NoDate
}

// asLikelyAsNot: who is probably even is not given a date of evenness. Ours.
const asLikelyAsNot = 0.5

// Day is a day of the course, such as one of Days.
func (c *Course) Day(day int) time.Time { return c.Start.AddDate(0, 0, day) }

// On is the day so many days after the latest session that is followed.
func (c *Course) On(days int) time.Time { return c.Day(c.Days[len(c.Days)-1] + days) }

// Latest is the day of the latest session that is followed.
func (c *Course) Latest() time.Time { return c.On(0) }

// EndsOn reports whether the course goes up to a time.
func (c *Course) EndsOn(when time.Time) bool { return measure.DaysBetween(c.Latest(), when) == 0 }
