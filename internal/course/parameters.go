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
	gap, gapSpread                     float64
	comparisonDrift                    float64 // a square root of a week
	plateauDrift, testDrift, gapDrift  float64
	bothSides                          float64 // correlation of the day factors

	scaleSpread float64
	horizon     int // days
	scales      []weighted
	speeds      []weighted
}

// weighted is a value of the grid with the logarithm of its prior weight.
type weighted struct{ value, log float64 }

func parametersOf(p *protocol.Protocol) parameters {
	c := &p.Course
	fraction := func(s protocol.Setting) float64 { return s.Float() / 100 }
	par := parameters{
		goodEnough: math.Log(p.Symmetry.GoodEnough.Value.Float64() / 100), even: math.Log(p.Symmetry.Even.Value.Float64() / 100),
		confidence: quantile((1 + fraction(p.Error.Interval)) / 2),
		plateau:    math.Log(fraction(c.Plateau)), plateauSpread: fraction(c.PlateauSpread), testSpread: fraction(c.TestSpread),
		gap: fraction(c.Gap), gapSpread: fraction(c.GapSpread),
		comparisonDrift: fraction(c.ComparisonDrift), plateauDrift: fraction(c.PlateauDrift),
		testDrift: fraction(c.TestDrift), gapDrift: fraction(c.GapDrift), bothSides: fraction(c.BothSides),
		horizon: int(7 * p.Trend.Horizon.Value.Float64()),
	}
	par.scales = scalesOf(fraction(c.ErrorSpread))
	for _, weeks := range []protocol.Setting{c.Fast, c.Middle, c.Slow} {
		par.speeds = append(par.speeds, weighted{weeks.Float(), 0})
	}
	return par
}

// scalesOf is the grid over the true size of the measurement error: five points one
// standard deviation of its logarithm apart; one point if it is known.
func scalesOf(spread float64) (scales []weighted) {
	if spread == 0 {
		return []weighted{{1, 0}}
	}
	for i := -2.0; i <= 2; i++ {
		scales = append(scales, weighted{math.Exp(i * spread), -i * i / 2})
	}
	return scales
}
