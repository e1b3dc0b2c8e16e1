package course

import (
	"math"
	"slices"
)

// series is the observations of an episode, and which past strengths are needed.
type series struct {
	tests        int
	observations []Observation
	days         []int
	starts       []int  // index of the first observation of each day
	past         []past // one for each test
}

// past is the days of a test to which the present is compared, as indices into the
// days; -1 for none; and on how many days the involved side was measured.
type past struct {
	first, last, best, sessions int
	// rise is how much the logarithm of the latest measurement is above that of each
	// of these days.
	rise struct{ first, last, best float64 }
}

func seriesOf(tests int, observations []Observation) *series {
	s := &series{tests: tests, observations: observations, past: make([]past, tests)}
	for i := range observations {
		if day := observations[i].Day; len(s.days) == 0 || s.days[len(s.days)-1] != day {
			s.days, s.starts = append(s.days, day), append(s.starts, i)
		}
	}
	for test := range s.past {
		s.past[test] = s.pastOf(test)
	}
	return s
}

// pastOf finds the days of a test on which the involved side was measured. The best
// is the day of the highest measurement before the latest.
func (s *series) pastOf(test int) past {
	p, latest := past{first: -1, last: -1, best: -1}, -1
	var first, last, best, latestLog float64
	day := -1
	for i := range s.observations {
		o := &s.observations[i]
		if day < 0 || s.days[day] != o.Day {
			day++
		}
		if o.Test != test || o.Comparison || day == latest {
			continue
		}
		if latest >= 0 {
			p.last, last = latest, latestLog
			if p.first < 0 {
				p.first, first = latest, latestLog
			}
			if p.best < 0 || latestLog > best {
				p.best, best = latest, latestLog
			}
		}
		latest, latestLog = day, o.Log
		p.sessions++
	}
	p.rise.first, p.rise.last, p.rise.best = latestLog-first, latestLog-last, latestLog-best
	return p
}

// A point of the grid is given up if its weight falls below hopeless of the best one
// on the way, and left out if it ends below negligible. Ours.
const (
	hopeless   = 0.001
	negligible = 0.03
)

// posteriorOf is the posterior at the points of the grid that are left, with what is
// needed of the past.
func posteriorOf(s *series, par *parameters) []part {
	parts := weighed(s, par)
	for i := range parts {
		parts[i].again(s, par)
	}
	return parts
}

// weighed filters the series at each point of the grid, day by day and as long as the
// data do not rule it out. The weights sum to 1.
func weighed(s *series, par *parameters) []part {
	parts := make([]part, len(par.grid))
	for i, at := range par.grid {
		parts[i].filter = newFilter(par, s.tests, 0, at)
	}
	for day := range s.days {
		for i := range parts {
			parts[i].filter.visit(s, day)
		}
		parts = likely(parts, hopeless)
	}
	parts = likely(parts, negligible)
	sum := 0.0
	for i := range parts {
		sum += parts[i].weight
	}
	for i := range parts {
		parts[i].weight /= sum
	}
	return parts
}

// likely weighs the parts against the best one and drops those below a limit.
func likely(parts []part, limit float64) []part {
	best := math.Inf(-1)
	for i := range parts {
		best = math.Max(best, parts[i].filter.evidence+parts[i].filter.log)
	}
	for i := range parts {
		parts[i].weight = math.Exp(parts[i].filter.evidence + parts[i].filter.log - best)
	}
	return slices.DeleteFunc(parts, func(p part) bool { return p.weight < limit })
}

// again filters with memory.
func (p *part) again(s *series, par *parameters) {
	p.memory = memory{strength: make([][3]int, s.tests), walk: make([]int, len(s.days))}
	p.moments = make([]gaussian, 0, len(s.days)*s.tests)
	f := newFilter(par, s.tests, 3*s.tests+len(s.days), p.filter.point)
	for day := range s.days {
		f.visit(s, day)
		p.takeDown(f, s, day)
	}
	p.filter = f
}

// visit takes in the observations of a day.
func (f *filter) visit(s *series, day int) {
	if day > 0 {
		f.wait(float64(s.days[day]-s.days[day-1]) / daysPerWeek)
	}
	f.measure(s, day)
}

// measure takes in the observations of a day that has come.
func (f *filter) measure(s *series, day int) {
	f.newDay()
	from, to := s.starts[day], len(s.observations)
	if day+1 < len(s.starts) {
		to = s.starts[day+1]
	}
	for i := from; i < to; i++ {
		f.observe(&s.observations[i])
	}
	f.settle()
}

const daysPerWeek = 7

// memory is where the filter keeps what is needed of the past.
type memory struct {
	strength [][3]int // of each test: at its first, last and best day
	walk     []int    // of the comparison side, by day; 0 where it is not kept
}

func (p *part) takeDown(f *filter, s *series, day int) {
	for test := range s.tests {
		p.moments = append(p.moments, f.against(test, Present))
		kept := -1
		for k, then := range [...]int{s.past[test].first, s.past[test].last, s.past[test].best} {
			if then != day {
				continue
			}
			if kept < 0 {
				kept = f.keep(f.plateau(test), f.gap())
			}
			p.memory.strength[test][k] = kept
			if p.memory.walk[day] == 0 {
				p.memory.walk[day] = f.keep(f.walk(), -1)
			}
		}
	}
}
