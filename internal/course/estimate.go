package course

import "math"

// mixture is a quantity at the points of the grid that are left.
type mixture struct {
	parts []part
	at    [gridPoints]gaussian
}

func (c *Course) mixed(of func(*part) gaussian) *mixture {
	m := mixture{parts: c.parts}
	for i := range c.parts {
		m.at[i] = of(&c.parts[i])
	}
	return &m
}

// whole is the mean and the variance of the mixture.
func (m *mixture) whole() gaussian {
	var mean, square float64
	for i := range m.parts {
		g, weight := m.at[i], m.parts[i].weight
		mean += weight * g.mean
		square += weight * (g.variance + g.mean*g.mean)
	}
	return gaussian{mean, math.Max(square-mean*mean, 0)}
}

// atLeast is the probability that the quantity is at least x.
func (m *mixture) atLeast(x float64) (probability float64) {
	for i := range m.parts {
		probability += m.parts[i].weight * m.at[i].atLeast(x)
	}
	return probability
}

// fillEstimates writes what was known of each test on each day. The interval is that
// of a normal distribution with the mean and the variance of the mixture.
func (c *Course) fillEstimates(tests int) {
	all := make([]Estimate, tests*len(c.Days))
	for test := range c.Tests {
		estimates := all[test*len(c.Days):][:len(c.Days):len(c.Days)]
		for day := range estimates {
			at := day*tests + test
			estimates[day] = c.estimate(c.Days[day], func(p *part) gaussian { return p.estimates[at] })
		}
		c.Tests[test].Estimates = estimates
	}
}

// estimate is what is known on a day of an index whose logarithm each part of the grid
// knows.
func (c *Course) estimate(day int, of func(*part) gaussian) Estimate {
	m := c.mixed(of)
	g := m.whole()
	low, high := g.interval(c.par.confidence)
	return Estimate{
		Day: day, Index: 100 * math.Exp(g.mean), Low: 100 * math.Exp(low), High: 100 * math.Exp(high),
		GoodEnough: m.atLeast(c.par.goodEnough),
		Even:       m.atLeast(c.par.even),
	}
}
