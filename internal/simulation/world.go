package simulation

import (
	"math"
	"math/rand/v2"
)

// World is a set of assumptions about visits and about measurement error. Each world
// differs from OneDay only in what it names.
type World uint8

// The worlds.
const (
	Independent World = iota // the errors of all tests are independent
	OneDay                   // the tests of one side on one day share half of the error's variance
	BothSides                // and both sides do so together, with a correlation of 0.5
	Sparse                   // visits six weeks apart
	Dense                    // visits a week apart
	Learning                 // the comparison side pushes better once it knows the test
	Weakening                // the comparison side loses 5-20 % of its strength
	worlds
)

// String names the world.
func (w World) String() string {
	return [...]string{
		"independent errors", "day factor", "day factors correlated", "sparse visits", "dense visits",
		"comparison side learns", "comparison side weakens",
	}[w]
}

// Steady reports whether nobody loses strength in the world, so that every alarm is a
// false one.
func (w World) Steady() bool { return w != Weakening }

// visits is how many visits there are, and how many days apart.
func (w World) visits() (number, days int) {
	switch w {
	case Sparse:
		return 4, 42
	case Dense:
		return 12, 7
	}
	return 6, 14
}

// trialSpread is the standard deviation from trial to trial. Near the upper end of
// what healthy people show within a session (Maestroni et al.,
// doi:10.3390/jfmk11010029: 1.9-3.1 %; the rest is ours).
const trialSpread = 0.05

// trialsPerTest is the number of trials of which the mean has the assumed error.
const trialsPerTest = 3

// sides are the involved and the comparison side.
const (
	involvedSide = iota
	otherSide
	sides
)

// dayErrors draws what all tests of a side have in common on one day, as a
// fraction of the strength.
func (w World) dayErrors(rng *rand.Rand, sem float64) (day [sides]float64) {
	spread := math.Sqrt(w.dayShare()) * sem
	correlation := 0.0
	if w == BothSides {
		correlation = 0.5
	}
	x, y := rng.NormFloat64(), rng.NormFloat64()
	day[otherSide] = spread * x
	day[involvedSide] = spread * (correlation*x + math.Sqrt(1-correlation*correlation)*y)
	return day
}

// dayShare is the day's part of the error's variance.
func (w World) dayShare() float64 {
	if w == Independent {
		return 0
	}
	return 0.5
}

// ownSpread is what is left of the error for a single test, so that the mean of its
// trials has the assumed error.
func (w World) ownSpread(sem float64) float64 {
	return math.Sqrt(sem*sem*(1-w.dayShare()) - trialSpread*trialSpread/trialsPerTest)
}
