package course

import (
	"math"
	"slices"

	"evenreach.example/internal/exact"
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
func posteriorOf(s *series, par *parameters) (before, now []part) {
	d := s.newDay()
	before, now = weighed(s, par, d)
	for i := range now {
		now[i].again(s, par, d)
	}
	return before, now
}

// weighed filters the series at each point of the grid, day by day and as long as the
// data do not rule it out. The weights sum to 1. Before is the same without the latest
// days that decide together, empty if there is no other.
func weighed(s *series, par *parameters, d *day) (before, now []part) {
	latest := s.latest(par)
	parts := s.begin(par, d)
	parts = s.follow(parts, 1, latest, d)
	if latest > 0 {
		before = clones(settled(slices.Clone(parts)))
	}
	return before, settled(s.follow(parts, max(latest, 1), len(s.days), d))
}

// begin filters the first day at each point of the grid. Until then it does not matter how
// fast a gap shrinks.
func (s *series) begin(par *parameters, d *day) []part {
	parts, best := make([]part, len(par.grid)), math.Inf(-1)
	for i, at := range par.grid {
		if i > 0 && at.beginsAs(&par.grid[i-1]) {
			parts[i].filter = parts[i-1].filter.clone()
			parts[i].filter.point = at
			continue
		}
		parts[i].filter = newFilter(par, s.tests, at)
		best = parts[i].filter.consider(s, 0, d, best)
	}
	return likely(parts, s.limit(0))
}

// beginsAs reports whether two points differ at most in how fast the gap shrinks.
func (p point) beginsAs(other *point) bool {
	p.shape.weeks = other.shape.weeks
	return p == *other
}

// latest is the first of the latest days, which decide together.
func (s *series) latest(par *parameters) int {
	last := s.days[len(s.days)-1]
	return slices.IndexFunc(s.days, func(day int) bool { return day == last || par.latest.Met(exact.Int(int64(last-day))) })
}

// follow filters some of the days.
func (s *series) follow(parts []part, from, to int, d *day) []part {
	for day := from; day < to; day++ {
		best := math.Inf(-1)
		for i := range parts {
			best = parts[i].filter.consider(s, day, d, best)
		}
		parts = likely(parts, s.limit(day))
	}
	return parts
}

// limit is the least weight against the best point with which one is kept after a day.
func (s *series) limit(day int) float64 {
	if day == len(s.days)-1 {
		return negligible
	}
	return hopeless
}

// consider filters a day, unless the point is ruled out by the best one so far, whose logarithm
// of its weight is given. It returns that of the better one. What is ruled out learns
// nothing any more, which takes most of the time.
func (f *filter) consider(s *series, day int, d *day, best float64) float64 {
	f.weigh(s, day, d)
	weight := f.evidence + f.log
	if math.Exp(weight-best) < s.limit(day) {
		f.evidence = math.Inf(-1)
		return best
	}
	f.learn(d)
	return math.Max(weight, best)
}

func clones(parts []part) []part {
	parts = slices.Clone(parts)
	for i := range parts {
		parts[i].filter = parts[i].filter.clone()
	}
	return parts
}

// settled leaves out what is negligible. The weights of the rest sum to 1.
func settled(parts []part) []part {
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

// likely weighs the parts against the best one, which it puts first, and drops those below a
// limit.
func likely(parts []part, limit float64) []part {
	best, at := math.Inf(-1), 0
	for i := range parts {
		if log := parts[i].filter.evidence + parts[i].filter.log; log > best {
			best, at = log, i
		}
	}
	parts[0], parts[at] = parts[at], parts[0]
	for i := range parts {
		parts[i].weight = math.Exp(parts[i].filter.evidence + parts[i].filter.log - best)
	}
	return slices.DeleteFunc(parts, func(p part) bool { return p.weight < limit })
}

// again filters with memory.
func (p *part) again(s *series, par *parameters, d *day) {
	p.memory = memory{most: cap(d.measured), strengths: make([][3]*remembered, s.tests)}
	p.estimates = make([]gaussian, 0, len(s.days)*s.tests)
	p.filter = newFilter(par, s.tests, p.filter.point)
	for day := range s.days {
		if day > 0 {
			p.memory.wait(p.filter, s.weeksBefore(day))
		}
		p.filter.visit(s, day, d)
		p.memory.learn(d, s.of(day), p.filter)
		p.takeDown(s, day)
	}
}

// newDay has room for any day of the series.
func (s *series) newDay() *day {
	most := 0
	for day := range s.days {
		most = max(most, len(s.of(day)))
	}
	return newDay(most, components(s.tests))
}

// of is the observations of a day.
func (s *series) of(day int) []Observation {
	if day+1 < len(s.starts) {
		return s.observations[s.starts[day]:s.starts[day+1]]
	}
	return s.observations[s.starts[day]:]
}

// weeksBefore is the time between a day and the one before it.
func (s *series) weeksBefore(day int) float64 {
	return float64(s.days[day]-s.days[day-1]) / daysPerWeek
}

const daysPerWeek = 7

// visit lets the time until a day pass and takes in its observations.
func (f *filter) visit(s *series, day int, d *day) {
	f.weigh(s, day, d)
	f.learn(d)
}

// weigh lets the time until a day pass and says how likely its observations are.
func (f *filter) weigh(s *series, day int, d *day) {
	if day > 0 {
		f.wait(s.weeksBefore(day))
	}
	d.measure(f, s.of(day))
	f.evidence += d.evidence
}

// takeDown notes the index of each test on a day, and remembers the strengths that later
// ones are compared with.
func (p *part) takeDown(s *series, day int) {
	var walk *remembered
	for test := range s.tests {
		p.estimates = append(p.estimates, p.filter.against(test, Present))
		var strength *remembered
		for k, then := range [...]int{s.past[test].first, s.past[test].last, s.past[test].best} {
			if then != day {
				continue
			}
			if walk == nil {
				walk = p.memory.keep(p.filter, nil, term{p.filter.walk(), 1})
			}
			if strength == nil {
				strength = p.memory.keep(p.filter, walk, term{p.filter.plateau(test), 1}, term{p.filter.gap(), -1})
			}
			p.memory.strengths[test][k] = strength
		}
	}
}
