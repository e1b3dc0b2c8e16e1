// Package course is the one model of how the strength of both shoulders develops:
// a linear Gaussian state-space model of the logarithms of all strengths of an
// episode, filtered exactly. Evenness, change, forecast and what to measure next
// are read from it, so that they cannot contradict each other.
//
// The comparison side has a level for each test and walks slowly, all its tests
// together. The involved side is a plateau for each test less a gap that all tests
// share and that shrinks by the same fraction each week. A day is good or bad for
// all tests of a side together; what is left of the measurement error is a test's
// own. How large the error really is, and how fast the gap closes, is not known:
// a small grid of both is averaged by evidence.
//
// Source: Harvey 1989, Forecasting, structural time series models and the Kalman
// filter, for the filter; the structure is ours.
package course

import (
	"sync"
	"time"

	"evenreach.example/internal/protocol"
)

// Observation is the measured strength of one test of one side.
type Observation struct {
	Day        int // calendar day, any origin; ascending
	Test       int // index into the list of tests
	Comparison bool
	Log        float64 // natural logarithm of the strength
	// Own is the standard error of the logarithm that is the test's own, Shared
	// the one that all tests of the side share on that day.
	Own, Shared float64
}

// Of is the course of a number of tests. The observations are in the order of their
// days; there is at least one. The deciding tests are those whose evenness is
// forecast together.
func Of(observations []Observation, tests int, deciding []int, p *protocol.Protocol) *Course {
	return of(observations, tests, deciding, parametersOf(p))
}

func of(observations []Observation, tests int, deciding []int, par parameters) *Course {
	s := seriesOf(tests, observations)
	c := &Course{Tests: make([]TestCourse, tests), Days: s.days, Deciding: deciding, par: par, series: s}
	c.before, c.parts = posteriorOf(s, &c.par)
	for test := range c.Tests {
		c.Tests[test].Sessions = s.past[test].sessions
	}
	c.fillEstimates(tests)
	c.fillChanges(s)
	c.fillOutlooks()
	c.fillGains(s)
	return c
}

// Estimate is what was known of the index of a test on a day, from the sessions up to
// and including it.
type Estimate struct {
	Day       int
	Index     float64 // per cent
	Low, High float64 // interval at the protocol's confidence, per cent
	// Probabilities that the true index reaches the thresholds.
	GoodEnough, Even float64
}

// Course is what all sessions of an episode show together.
type Course struct {
	Tests []TestCourse
	// Days are the calendar days with a measurement, ascending.
	Days []int
	// Start is the first of them.
	Start time.Time
	// Deciding are the tests that decide together, indices into Tests; All is their
	// outlook, which has no plateau.
	Deciding []int
	All      Outlook
	// Lowest is the test that decides and levels off lowest, nil if none does.
	Lowest *TestCourse

	parts    []part
	before   []part // without the latest days, which decide together
	par      parameters
	series   *series
	observer *observer // nil but for the course of an episode

	even     float64 // see AllEven
	evenOnce sync.Once
}

// TestCourse is the course of one test.
type TestCourse struct {
	Test // zero unless it is the course of an episode
	// Sessions is on how many days the involved side was measured.
	Sessions int
	// Estimates has one entry for each of Course.Days.
	Estimates []Estimate
	// First, Last and Best are the change of the involved side's strength since its
	// first measurement, the one before the present, and its best.
	First, Last, Best Change
	Outlook           Outlook
	// Gain is how much of the uncertainty about the verdicts on all tests that decide
	// measuring this one on both sides at the next visit is expected to take away: the
	// mean fall of the sum of p (1 - p), two verdicts a test; 0 if it does not decide.
	Gain float64
}

// Now is the latest estimate.
func (t *TestCourse) Now() *Estimate { return &t.Estimates[len(t.Estimates)-1] }

// part is the posterior at one point of the grid.
type part struct {
	weight    float64
	filter    *filter
	memory    memory
	estimates []gaussian // of the logarithm of the index, by day, then test
}

// gaussian is a mean and a variance.
type gaussian struct{ mean, variance float64 }
