package course

import (
	"math"

	"evenreach.example/internal/protocol"
)

// parameters are the protocol's values as fractions and weeks.
type parameters struct {
	goodEnough, even float64 // logarithms of the thresholds
	confidence       float64 // two-sided normal quantile of intervals

	plateau, plateauSpread, testSpread float64 // of the logarithm of the index
	comparisonDrift                    float64 // a square root of a week
	plateauDrift, testDrift, gapDrift  float64
	bothSides                          float64 // correlation of the day factors

	latest  protocol.Threshold // days before the last, of the sessions that decide together
	horizon int                // days
	next    float64            // weeks to the next visit
	grid    []point
}

// point is a point of the grid: how large the measurement error is against what is
// assumed, what part of the day's deviation that is assumed is really shared, and the
// shape of the course; with the logarithm of its prior weight.
type point struct {
	scale, day float64
	shape      shape
	log        float64
}

// shape is how a course may go: the gap at the first session with its standard
// deviation, and the weeks in which it shrinks to 37 %. All are as likely.
type shape struct{ gap, spread, weeks float64 }

func parametersOf(p *protocol.Protocol) parameters {
	c := &p.Course
	fraction := func(s protocol.Setting) float64 { return s.Float() / 100 }
	par := parameters{
		goodEnough: math.Log(p.Symmetry.GoodEnough.Value.Float64() / 100), even: math.Log(p.Symmetry.Even.Value.Float64() / 100),
		confidence: quantile((1 + fraction(p.Error.Interval)) / 2),
		plateau:    math.Log(fraction(c.Plateau)), plateauSpread: fraction(c.PlateauSpread), testSpread: fraction(c.TestSpread),
		comparisonDrift: fraction(c.ComparisonDrift), plateauDrift: fraction(c.PlateauDrift),
		testDrift: fraction(c.TestDrift), gapDrift: fraction(c.GapDrift), bothSides: fraction(c.BothSides),
		latest: p.Symmetry.Latest, horizon: int(7 * p.Trend.Horizon.Value.Float64()), next: p.Recheck.Earliest.Float() / daysPerWeek,
	}
	gap, spread := fraction(c.Gap), fraction(c.GapSpread)
	par.grid = gridOf(fraction(c.ErrorSpread), [...]float64{leastDay(p), 1}, [...]shape{
		{0, fraction(c.StableGap), c.Slow.Float()}, {gap, spread, c.Fast.Float()}, {gap, spread, c.Slow.Float()},
	})
	return par
}

// leastDay is the least part of the assumed deviation of a day that is really shared.
func leastDay(p *protocol.Protocol) float64 {
	least, assumed := p.Course.LeastDay.Float(), p.Error.Day.Float()
	if assumed <= least {
		return 1
	}
	return math.Sqrt(least / assumed)
}

// gridPoints is of how many points the grid consists.
const gridPoints = 5 * 2 * 3

// gridOf joins five sizes of the error, one standard deviation of their logarithm
// apart and the likeliest first, with tests of a day that hardly go together and that do so as assumed, and
// with a stable course, a fast and a slow recovery.
func gridOf(spread float64, days [2]float64, shapes [3]shape) (grid []point) {
	for _, i := range [...]float64{0, -1, 1, -2, 2} {
		for _, day := range days {
			for _, shape := range shapes {
				grid = append(grid, point{scale: math.Exp(i * spread), day: day, shape: shape, log: -i * i / 2})
			}
		}
	}
	return grid
}
