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
	past         []past // one for each test
}

// past is the days of a test to which the present is compared, as indices into the
// days; -1 for none.
type past struct{ first, last, best int }

func seriesOf(tests int, observations []Observation) *series {
	s := &series{tests: tests, observations: observations, past: make([]past, tests)}
	for i := range observations {
		if day := observations[i].Day; len(s.days) == 0 || s.days[len(s.days)-1] != day {
			s.days = append(s.days, day)
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
	p, latest := past{-1, -1, -1}, -1
	var best, latestLog float64
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
			p.last = latest
			if p.first < 0 {
				p.first = latest
			}
			if p.best < 0 || latestLog > best {
				p.best, best = latest, latestLog
			}
		}
		latest, latestLog = day, o.Log
	}
	return p
}

// negligible is the share of the weight of the best point below which a point of
// the grid is left out.
const negligible = 0.03

// posteriorOf filters the series at each point of the grid, and again, with what is
// needed of the past, at those that the data do not rule out. The weights sum to 1.
func posteriorOf(s *series, par *parameters) (parts []part) {
	best := math.Inf(-1)
	for _, scale := range par.scales {
		for _, speed := range par.speeds {
			f := newFilter(par, s.tests, 0, scale.value, speed.value)
			f.run(s, nil)
			weight := f.evidence + scale.log + speed.log
			best = math.Max(best, weight)
			parts = append(parts, part{weight: weight, filter: f})
		}
	}
	parts = slices.DeleteFunc(parts, func(p part) bool { return p.weight < best+math.Log(negligible) })
	sum := 0.0
	for i := range parts {
		parts[i].weight = math.Exp(parts[i].weight - best)
		sum += parts[i].weight
	}
	for i := range parts {
		parts[i].weight /= sum
		parts[i].again(s, par)
	}
	return parts
}

// again filters with memory.
func (p *part) again(s *series, par *parameters) {
	p.memory = memory{strength: make([][3]int, s.tests), walk: make([]int, len(s.days))}
	p.moments = make([]gaussian, 0, len(s.days)*s.tests)
	f := newFilter(par, s.tests, 3*s.tests+len(s.days), p.filter.scale, p.filter.weeks)
	f.run(s, p)
	p.filter = f
}

// run takes in all observations, day by day. A part, if there is one, takes down
// what is known at the end of each day.
func (f *filter) run(s *series, p *part) {
	at := 0
	for i, day := range s.days {
		if i > 0 {
			f.wait(float64(day-s.days[i-1]) / daysPerWeek)
		}
		f.newDay()
		for ; at < len(s.observations) && s.observations[at].Day == day; at++ {
			f.observe(&s.observations[at])
		}
		if p != nil {
			p.takeDown(f, s, i)
		}
	}
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
