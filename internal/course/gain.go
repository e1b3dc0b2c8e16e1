package course

import "math"

// fillGains ranks what another measurement of each test on both sides would tell.
func (c *Course) fillGains(s *series) {
	for i := range c.Tests {
		noise := s.noiseOf(i)
		c.Tests[i].Gain = c.probability(func(p *part) float64 { return p.gain(i, len(c.Tests), noise, c.par.even) })
	}
}

// noiseOf is the variance of the logarithm of an index measured like the latest
// strengths of a test.
func (s *series) noiseOf(test int) float64 {
	var of [2]float64
	for i := range s.observations {
		if o := &s.observations[i]; o.Test == test {
			side := 0
			if o.Comparison {
				side = 1
			}
			of[side] = o.Own*o.Own + o.Shared*o.Shared
		}
	}
	switch {
	case of[0] == 0:
		of[0] = of[1]
	case of[1] == 0:
		of[1] = of[0]
	}
	return of[0] + of[1]
}

// gain is the expected fall of the sum of p (1 - p) over all tests. The mean of the
// square of a probability p after the measurement is the probability that two
// normal quantities, correlated by what is learned, both exceed the threshold.
func (p *part) gain(measured, tests int, noise, threshold float64) (gain float64) {
	f := p.filter
	noise *= f.scale * f.scale
	variance := f.against(measured, Present).variance + noise
	for test := range tests {
		g := f.against(test, Present)
		c := f.againstCovariance(test, measured, Present)
		if g.variance > 0 && variance > 0 {
			gain += beyondBoth((g.mean-threshold)/math.Sqrt(g.variance), math.Min(c*c/variance/g.variance, 1))
		}
	}
	return gain
}

// beyondBoth is by how much two standard normal quantities of a correlation are more
// likely to be both below z than independent ones: Plackett's integral with the sine
// as variable, by Gauss and Legendre.
//
// Source: Plackett 1954, Biometrika 41:351-60.
func beyondBoth(z, correlation float64) float64 {
	end := math.Asin(correlation)
	sum := 0.0
	for i, x := range legendreNodes {
		sum += legendreWeights[i] * math.Exp(-z*z/(1+math.Sin(end*(1+x)/2)))
	}
	return sum * end / 2 / (2 * math.Pi)
}

// The nodes and weights of Gauss and Legendre for five points.
var (
	legendreNodes   = [...]float64{-0.9061798459386640, -0.5384693101056831, 0, 0.5384693101056831, 0.9061798459386640}
	legendreWeights = [...]float64{0.2369268850561891, 0.4786286704993665, 0.5688888888888889, 0.4786286704993665, 0.2369268850561891}
)
