package course

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// cumulative is the standard normal distribution function.
func cumulative(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// quantile is its inverse.
func quantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// atLeast is the probability that a normal quantity is at least x.
func (g gaussian) atLeast(x float64) float64 {
	if g.variance <= 0 {
		if g.mean >= x {
			return 1
		}
		return 0
	}
	return cumulative((g.mean - x) / math.Sqrt(g.variance))
}

// interval is the mean less and plus so many standard deviations.
func (g gaussian) interval(deviations float64) (low, high float64) {
	reach := deviations * math.Sqrt(g.variance)
	return g.mean - reach, g.mean + reach
}
