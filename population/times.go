package population

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"evenreach.example/internal/shoulder"
	"evenreach.example/population/statistics"
)

// TimeToReady is the share of patients that were found ready for functional work, over the
// weeks.
type TimeToReady struct {
	group
	Patients int  `json:"patients"`
	Seen     Cell `json:"seen"` // ready; the shares are left out too if these are few
	// Weeks has the share by Kaplan and Meier, with the week of the visit at which it was
	// seen, while at least ten were still followed.
	Weeks []Share `json:"weeks"`
	// Between has the share by Turnbull, who lets it lie anywhere between two visits.
	Between []Mass `json:"between"`
	// Median is the week by which half were ready by Kaplan and Meier; null if half were
	// not, while at least ten were still followed.
	Median *float64 `json:"median"`
}

// Share is the share that was ready by a week, with its 95 % band.
type Share struct {
	Week   int     `json:"week"`
	AtRisk int     `json:"atRisk"` // still followed at its beginning, and not ready
	Ready  float64 `json:"ready"`  // %
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
}

// Mass is the share that became ready by the end of a span, and not before its beginning.
type Mass struct {
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Ready float64 `json:"ready"` // %, by its end
}

// confidence of bands and limits.
const confidence = 0.95

func timesToReady(by map[group][]Ready) []TimeToReady {
	all := []TimeToReady{}
	for _, g := range slices.SortedFunc(maps.Keys(by), group.compare) {
		if len(by[g]) >= smallest {
			all = append(all, timeToReady(g, by[g]))
		}
	}
	return all
}

func timeToReady(g group, all []Ready) TimeToReady {
	t, seen := TimeToReady{group: g, Patients: len(all)}, 0
	observed := make([]statistics.Observed, len(all))
	intervals := make([]statistics.Interval, 0, len(all))
	for i, r := range all {
		observed[i] = statistics.Observed{Time: r.After, Happened: r.Seen}
		interval := statistics.Interval{Left: math.Floor(r.After), Right: math.Inf(1)}
		if r.Seen {
			seen++
			observed[i].Time = r.At
			interval.Right = max(math.Ceil(r.At), interval.Left+1)
		}
		intervals = append(intervals, interval)
	}
	if t.Seen = cellOf(seen); t.Seen.Hidden {
		return t
	}
	steps := statistics.KaplanMeier(observed, confidence)
	last := 0.0
	for week := range longest + 1 {
		share, ok := shareAt(steps, week)
		if !ok {
			break
		}
		t.Weeks, last = append(t.Weeks, share), float64(week)
		if t.Median == nil && share.Ready >= 50 {
			t.Median = new(float64(week))
		}
	}
	ready := 0.0
	for _, m := range statistics.Turnbull(intervals) {
		if ready += 100 * m.Share; m.Right <= last {
			t.Between = append(t.Between, Mass{m.Left, m.Right, tenth(ready)})
		}
	}
	return t
}

// shareAt is the share at the end of a week, unless fewer than ten are followed into it.
func shareAt(steps []statistics.Step, week int) (Share, bool) {
	s := Share{Week: week}
	for i := range steps {
		if steps[i].Time > float64(week) {
			s.AtRisk = steps[i].AtRisk
			break
		}
		s.Ready, s.Low, s.High = tenth(100*(1-steps[i].Share)), tenth(100*(1-steps[i].High)), tenth(100*(1-steps[i].Low))
	}
	return s, s.AtRisk >= smallest
}

// Precision is the error of one measurement of a test, from planned re-tests: the standard
// deviation in per cent of the strength, with its 95 % limits.
type Precision struct {
	Motion   string  `json:"rotation"`
	Position string  `json:"position"`
	Involved bool    `json:"involved"` // side
	Pairs    int     `json:"pairs"`
	Percent  float64 `json:"percent"`
	Low      float64 `json:"low"`
	High     float64 `json:"high"`
}

func precisions(by map[Precision][]float64) []Precision {
	all := []Precision{}
	for key, differences := range by {
		if len(differences) < smallest {
			continue
		}
		slices.Sort(differences) // so that sums do not depend on the order of the files
		d := statistics.OfDifferences(differences, confidence)
		key.Pairs, key.Percent, key.Low, key.High = d.Pairs, hundredth(100*d.Value), hundredth(100*d.Low), hundredth(100*d.High)
		all = append(all, key)
	}
	slices.SortFunc(all, func(a, b Precision) int { return comparePrecision(&a, &b) })
	return all
}

func comparePrecision(a, b *Precision) int {
	side := func(p *Precision) int {
		if p.Involved {
			return 0
		}
		return 1
	}
	return cmp.Or(cmp.Compare(side(a), side(b)),
		cmp.Compare(rank(a.Motion, shoulder.Motions[:]), rank(b.Motion, shoulder.Motions[:])),
		cmp.Compare(rank(a.Position, shoulder.Positions[:]), rank(b.Position, shoulder.Positions[:])))
}
