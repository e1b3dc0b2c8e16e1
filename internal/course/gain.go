package course

import "math"

// fillGains says of each test that decides how much measuring it at the next visit,
// on both sides as it was measured last, would settle of the verdicts on all of them.
// That all are even is decided by the same verdicts, so it has no gain of its own.
func (c *Course) fillGains(s *series) {
	like := s.latestOfSides()
	for i := range c.parts {
		next := c.parts[i].filter.ahead(c.par.next)
		for _, test := range c.Deciding {
			c.Tests[test].Gain += c.parts[i].weight * next.gain(&like[test], c.Deciding)
		}
	}
}

// bothSides is a measurement of the involved side of a test, and one of the comparison
// side.
type bothSides [2]Observation

// latestOfSides is the latest measurement of both sides of each test. A side that was
// never measured will be as the other was.
func (s *series) latestOfSides() []bothSides {
	all, measured := make([]bothSides, s.tests), make([][2]bool, s.tests)
	for i := range s.observations {
		o := &s.observations[i]
		side := involved
		if o.Comparison {
			side = comparison
		}
		all[o.Test][side], measured[o.Test][side] = *o, true
	}
	for test := range all {
		for side, known := range measured[test] {
			if !known {
				all[test][side] = all[test][1-side]
				all[test][side].Comparison = side == comparison
			}
		}
	}
	return all
}

// ahead is what is known now of a day so many weeks from now.
func (f *filter) ahead(weeks float64) *filter {
	next := f.clone()
	next.wait(weeks)
	return next
}

// gain is the expected fall of the sum of p (1 - p) over the verdicts of all tests that
// decide, where p is the probability that a verdict is met: that the index is good
// enough, and that it is even. The mean of the square of p after the measurement is the
// probability that two normal quantities, correlated by the share of the variance that
// the measurement takes away, both exceed the threshold.
func (f *filter) gain(both *bothSides, deciding []int) (gain float64) {
	one, two := f.terms(&both[involved]), f.terms(&both[comparison])
	oneDay, twoDay := f.shared(&both[involved]), f.shared(&both[comparison])
	a := f.covarianceOf(one[:], one[:]) + oneDay*oneDay + f.rest(&both[involved])
	b := f.covarianceOf(two[:], two[:]) + twoDay*twoDay + f.rest(&both[comparison])
	ab := f.covarianceOf(one[:], two[:]) + oneDay*twoDay*f.par.bothSides
	for _, other := range deciding {
		terms, index := f.indexTerms(other), f.against(other, Present)
		x, y := f.covarianceOf(terms[:], one[:]), f.covarianceOf(terms[:], two[:])
		taken := (x*x*b - 2*x*y*ab + y*y*a) / (a*b - ab*ab)
		if !(taken > 0) {
			continue
		}
		deviation := math.Sqrt(index.variance)
		good, even := (index.mean-f.par.goodEnough)/deviation, (index.mean-f.par.even)/deviation
		gain += beyondBoth(math.Min(taken/index.variance, 1), good, even)
	}
	return gain
}

// beyondBoth is by how much two standard normal quantities of a correlation are more
// likely to be both below z than independent ones, summed over each z: Plackett's integral
// with the sine as variable, by Gauss and Legendre.
//
// Source: Plackett 1954, Biometrika 41:351-60.
func beyondBoth(correlation float64, zs ...float64) float64 {
	end := math.Asin(correlation)
	sum := 0.0
	for i, x := range legendreNodes {
		factor := 1 + math.Sin(end*(1+x)/2)
		for _, z := range zs {
			sum += legendreWeights[i] * math.Exp(-z*z/factor)
		}
	}
	return sum * end / 2 / (2 * math.Pi)
}

// The nodes and weights of Gauss and Legendre for five points.
var (
	legendreNodes   = [...]float64{-0.9061798459386640, -0.5384693101056831, 0, 0.5384693101056831, 0.9061798459386640}
	legendreWeights = [...]float64{0.2369268850561891, 0.4786286704993665, 0.5688888888888889, 0.4786286704993665, 0.2369268850561891}
)
