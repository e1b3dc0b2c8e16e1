package course

import "math"

// Change is the true change of a test since an earlier day, as all sessions show it.
type Change struct {
	// Day is the earlier day; Known is false if there is none.
	Day   int
	Known bool
	// Strength is the change of the involved side's strength, Index that of the
	// index.
	Strength, Index Difference
	// Rise is how much the logarithm of the strength that was measured last is above
	// that of the earlier day.
	Rise float64
}

// Difference is a change in per cent of the earlier value.
type Difference struct {
	Percent, Low, High float64 // with its interval at the protocol's confidence
	// Below is the probability that the true change is below zero.
	Below float64
}

// fillChanges writes the changes of each test.
func (c *Course) fillChanges(s *series) {
	for test := range c.Tests {
		t, past := &c.Tests[test], s.past[test]
		for k, day := range [...]int{past.first, past.last, past.best} {
			if day < 0 {
				continue
			}
			*[...]*Change{&t.First, &t.Last, &t.Best}[k] = Change{
				Day: s.days[day], Known: true, Rise: [...]float64{past.rise.first, past.rise.last, past.rise.best}[k],
				Strength: c.difference(func(p *part) gaussian { return p.memory.strengths[test][k].strengthSince(p.filter, test) }),
				Index:    c.difference(func(p *part) gaussian { return p.memory.strengths[test][k].indexSince(p.filter, test) }),
			}
		}
	}
}

func (c *Course) difference(of func(*part) gaussian) Difference {
	m := c.mixed(of)
	g := m.whole()
	low, high := g.interval(c.par.confidence)
	percent := func(log float64) float64 { return 100 * math.Expm1(log) }
	return Difference{
		Percent: percent(g.mean), Low: percent(low), High: percent(high),
		Below: 1 - m.atLeast(0),
	}
}

// term is a component of the state with a factor.
type term struct {
	component int
	factor    float64
}

// sum is a linear combination of the state.
func (f *filter) sum(terms ...term) gaussian {
	return gaussian{combine(f.mean, terms), math.Max(f.covarianceOf(terms, terms), 0)}
}

// combine is the same combination of a list that has a number for each component.
func combine(list []float64, terms []term) (sum float64) {
	for i := range terms {
		sum += terms[i].factor * list[terms[i].component]
	}
	return sum
}

// covarianceOf is the covariance of two linear combinations of the state.
func (f *filter) covarianceOf(x, y []term) (sum float64) {
	for _, i := range x {
		for _, j := range y {
			sum += i.factor * j.factor * f.cov(i.component, j.component)
		}
	}
	return sum
}
