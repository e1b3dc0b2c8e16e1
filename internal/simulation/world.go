package simulation

import (
	"math"
	"math/rand/v2"
)

// World is a set of assumptions about patients, visits and measurement error.
type World struct {
	Name string
	// DayShare is the part of the error's variance that all tests of a side share on a
	// day; Correlation is that of the day factors of both sides.
	DayShare, Correlation float64
	// Visits is how many there are, Days how many days lie between them.
	Visits, Days int
	// CompareEvery is at which visits the comparison side is measured: each, or each
	// third; its score is carried forward in between.
	CompareEvery int
	// TrueError is the true standard error in per cent if the protocol assumes another
	// one; 0 if it assumes the true one.
	TrueError int
	Errors    []int // that the protocol assumes, per cent
	Learning  bool  // the comparison side pushes better once it knows the test
	Weakening bool  // the comparison side loses 5-20 % of its strength
	Setback   bool  // the involved side loses 10-20 % half way
	Cast      Cast
}

// Cast is which patients there are.
type Cast uint8

// The casts.
const (
	Mixed    Cast = iota // a third each: stable, becoming even, staying short of it
	Stable               // nobody changes
	Becoming             // all become even
	Short                // all level off at 78-88 %
)

// usual is the world from which the others differ in what they name.
var usual = World{DayShare: 0.5, Visits: 6, Days: 14, CompareEvery: 1, Errors: []int{10}}

func world(name string, change func(*World)) World {
	w := usual
	w.Name = name
	change(&w)
	return w
}

// fourErrors are the standard errors of measurement that are tried in the worlds
// that are about error, in per cent: the published range for patients and a better one.
var fourErrors = []int{5, 7, 10, 14}

// Worlds lists all of them.
var Worlds = []World{
	world("independent errors", func(w *World) { w.DayShare, w.Errors = 0, fourErrors }),
	world("day factor", func(w *World) { w.Errors = fourErrors }),
	world("day factors correlated", func(w *World) { w.Correlation, w.Errors = 0.5, []int{7, 10} }),
	world("sparse visits", func(w *World) { w.Visits, w.Days = 4, 42 }),
	world("dense visits", func(w *World) { w.Visits, w.Days = 12, 7 }),
	world("comparison every third visit", func(w *World) { w.CompareEvery = 3 }),
	world("comparison side learns", func(w *World) { w.Learning = true }),
	world("comparison side weakens", func(w *World) { w.Weakening, w.Errors = true, []int{7, 10} }),
	world("error 14 where 7 is assumed", func(w *World) { w.TrueError, w.Errors = 14, []int{7} }),
	world("error 7 where 14 is assumed", func(w *World) { w.TrueError, w.Errors = 7, []int{14} }),
	world("setback half way", func(w *World) { w.Cast, w.Setback, w.Visits = Becoming, true, 8 }),
	world("all stable", func(w *World) { w.Cast, w.Errors = Stable, []int{7, 10} }),
	world("all become even", func(w *World) { w.Cast, w.Errors = Becoming, []int{7, 10} }),
	world("all level off at 78-88 %", func(w *World) { w.Cast, w.Errors = Short, []int{7, 10} }),
}

// Steady reports whether nobody loses strength in the world, so that every alarm is a
// false one.
func (w *World) Steady() bool { return !w.Weakening && !w.Setback }

// AsAssumed reports whether the world is steady and has the error that the protocol assumes.
func (w *World) AsAssumed() bool { return w.Steady() && w.TrueError == 0 }

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
func (w *World) dayErrors(rng *rand.Rand, sem float64) (day [sides]float64) {
	spread := math.Sqrt(w.DayShare) * sem
	x, y := rng.NormFloat64(), rng.NormFloat64()
	day[otherSide] = spread * x
	day[involvedSide] = spread * (w.Correlation*x + math.Sqrt(1-w.Correlation*w.Correlation)*y)
	return day
}

// ownSpread is what is left of the error for a single test, so that the mean of its
// trials has the assumed error.
func (w *World) ownSpread(sem float64) float64 {
	return math.Sqrt(math.Max(sem*sem*(1-w.DayShare)-trialSpread*trialSpread/trialsPerTest, 0))
}
