package plan

import (
	"cmp"
	"math"
	"slices"

	"evenreach.example/internal/measure"
)

// requests lists what to find out next: what comes before anything else, in the order
// of the rules; then what is not known yet; then the strengths, first that which would
// settle most.
func (b *builder) requests() []Request {
	all := b.wanted()
	slices.SortStableFunc(all, func(x, y Request) int { return cmp.Compare(x.turn(), y.turn()) })
	return all
}

// turn orders the requests: the lower the sooner.
func (r *Request) turn() int {
	switch {
	case r.First:
		return math.MinInt
	case r.Settles == 0:
		return math.MinInt + 1
	}
	return -r.Settles
}

// leastGain is a difference that decides what is measured first: what it takes to move
// one verdict from 50 to 60 %, because 0.5 x 0.5 - 0.6 x 0.4 is 0.01. Tests that differ
// by less stay in the usual order. Ours.
const leastGain = 0.01

// settles ranks a test by how much of the uncertainty about the verdicts on all tests
// it would take away: 1 for next to nothing, and one more for each leastGain; 0 for a
// test that is not followed.
func (b *builder) settles(setting measure.Setting) int {
	t := b.course.Find(setting)
	if t == nil {
		return 0
	}
	return 1 + int(t.Gain/leastGain)
}
