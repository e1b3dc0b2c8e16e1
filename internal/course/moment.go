package course

import "math"

// mixed is the mean and the variance of a quantity over the parts of the grid.
func (c *Course) mixed(of func(*part) gaussian) gaussian {
	var mean, square float64
	for i := range c.parts {
		g := of(&c.parts[i])
		mean += c.parts[i].weight * g.mean
		square += c.parts[i].weight * (g.variance + g.mean*g.mean)
	}
	return gaussian{mean, math.Max(square-mean*mean, 0)}
}

// probability is the probability of an event over the parts of the grid.
func (c *Course) probability(of func(*part) float64) (p float64) {
	for i := range c.parts {
		p += c.parts[i].weight * of(&c.parts[i])
	}
	return p
}

// fillMoments writes what was known of each test on each day. The interval is that
// of a normal distribution with the mean and the variance of the mixture.
func (c *Course) fillMoments(tests int) {
	all := make([]Moment, tests*len(c.Days))
	for test := range c.Tests {
		moments := all[test*len(c.Days):][:len(c.Days):len(c.Days)]
		for day := range moments {
			at := day*tests + test
			moments[day] = c.moment(c.Days[day], func(p *part) gaussian { return p.moments[at] })
		}
		c.Tests[test].Moments = moments
	}
}

// moment is what is known on a day of an index whose logarithm each part of the grid
// knows.
func (c *Course) moment(day int, of func(*part) gaussian) Moment {
	g := c.mixed(of)
	reach := c.par.confidence * math.Sqrt(g.variance)
	return Moment{
		Day: day, Index: 100 * math.Exp(g.mean),
		Low: 100 * math.Exp(g.mean-reach), High: 100 * math.Exp(g.mean+reach),
		GoodEnough: c.probability(func(p *part) float64 { return of(p).atLeast(c.par.goodEnough) }),
		Even:       c.probability(func(p *part) float64 { return of(p).atLeast(c.par.even) }),
	}
}
