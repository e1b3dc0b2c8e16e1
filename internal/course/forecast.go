package course

import "math"

// Outlook is what the course says about when a test, or all of them, will be even.
type Outlook struct {
	// Reach is the probability of evenness within the protocol's horizon.
	Reach float64
	// Date, Earliest and Latest are the median and the ends of the interval of the
	// predictive distribution of the first day of evenness, in days from the latest
	// session; -1 where that lies beyond the horizon.
	Date, Earliest, Latest int
	// Plateau is the index at which the course levels off, in per cent, with its
	// interval; Short is the probability that this is not even.
	Plateau, Low, High float64
	Short              float64
}

// allPaths is how many futures are drawn, over all parts of the grid.
const allPaths = 256

// forecaster draws the futures.
type forecaster struct {
	c     *Course
	tests []int
	days  int
	// arrivals is the weight of the futures in which a test is first even on a day;
	// the row behind the tests' is of all of them.
	arrivals []float64
}

// fillOutlooks forecasts each test, and the tests that decide together.
func (c *Course) fillOutlooks(deciding []int) {
	every := make([]int, len(c.Tests))
	decides := make([]bool, len(c.Tests))
	for i := range every {
		every[i] = i
	}
	for _, test := range deciding {
		decides[test] = true
	}
	f := forecaster{c: c, tests: every, days: c.par.horizon + 1}
	f.arrivals = make([]float64, (len(every)+1)*f.days)
	for i := range c.parts {
		f.draw(&c.parts[i], decides)
	}
	for i := range c.Tests {
		c.Tests[i].Outlook = f.outlook(i)
		c.Tests[i].Outlook.level(c, i)
	}
	c.All = f.outlook(len(every))
}

// draw draws the futures of one part: how high each test will come in the end, the
// gap, and how far all walk. The strength of a day is drawn exactly; that of two days
// goes together, which matters little for the first day of evenness.
func (f *forecaster) draw(p *part, decides []bool) {
	n := len(f.tests) + 1
	mean, root := p.ends(f.tests)
	paths := max(leastPoints, int(math.Round(p.weight*allPaths)))
	weight := p.weight / float64(paths)
	par := p.filter.par
	drift := math.Sqrt(par.plateauDrift*par.plateauDrift + par.comparisonDrift*par.comparisonDrift + par.testDrift*par.testDrift)
	normal, end := make([]float64, n+1), make([]float64, n)
	for k := 1; k <= paths; k++ {
		for i := range normal {
			normal[i] = normalPoint(k, i)
		}
		for i := range n {
			end[i] = mean[i]
			for j := range i + 1 {
				end[i] += root[i*n+j] * normal[j]
			}
		}
		last := 0
		for i := range f.tests {
			day := f.arrival(end[i]-par.even, end[n-1], p.filter.weeks, drift*normal[n])
			f.add(i, day, weight)
			if decides[i] {
				last = max(last, day)
			}
		}
		f.add(len(f.tests), last, weight)
	}
}

func (f *forecaster) add(row, day int, weight float64) {
	if day < f.days {
		f.arrivals[row*f.days+day] += weight
	}
}

// ends is the mean of the indices at the end of the course, followed by the gap, and
// the Cholesky factor of their covariance.
func (p *part) ends(tests []int) (mean, root []float64) {
	f, n := p.filter, len(tests)+1
	mean, root = make([]float64, n), make([]float64, n*n)
	for i, test := range tests {
		mean[i] = f.sum(f.endTerms(test)...).mean
		for j := range i + 1 {
			root[i*n+j] = f.covarianceOf(f.endTerms(test), f.endTerms(tests[j]))
		}
		root[(n-1)*n+i] = f.covarianceOf([]term{{f.gap(), 1}}, f.endTerms(test))
	}
	mean[n-1] = f.mean[f.gap()]
	root[n*n-1] = f.cov(f.gap(), f.gap())
	factorise(root, n)
	return mean, root
}

// endTerms is the logarithm of the index of a test once the gap is closed.
func (f *filter) endTerms(test int) []term {
	return []term{{f.plateau(test), 1}, {test, -1}, {f.walk(), -1}}
}

// arrival is the first day on which an index is even that ends so far above the
// threshold, less a gap that closes, plus a walk; a day beyond the horizon if none
// is.
func (f *forecaster) arrival(excess, gap, weeks, walk float64) int {
	const step = 7
	above := func(day int) float64 {
		t := float64(day) / daysPerWeek
		return excess - gap*math.Exp(-t/weeks) + walk*math.Sqrt(t)
	}
	before := above(0)
	if before >= 0 {
		return 0
	}
	for day := step; day < f.days; day += step {
		now := above(day)
		if now >= 0 {
			return day - step + int(math.Ceil(step*before/(before-now)))
		}
		before = now
	}
	return f.days
}

// normalPoint is a coordinate of a point of the lattice as a normal quantity.
func normalPoint(k, i int) float64 {
	_, fraction := math.Modf((float64(k) - 0.5) * math.Sqrt(primes[i%len(primes)]))
	return quantile(math.Max(fraction, 1e-9))
}

// outlook reads the predictive distribution of a row.
func (f *forecaster) outlook(row int) Outlook {
	arrivals := f.arrivals[row*f.days:][:f.days]
	tail := 1 - cumulative(f.c.par.confidence)
	o := Outlook{Date: -1, Earliest: -1, Latest: -1}
	for day, weight := range arrivals {
		o.Reach += weight
		for _, q := range [...]struct {
			share float64
			day   *int
		}{{tail, &o.Earliest}, {0.5, &o.Date}, {1 - tail, &o.Latest}} {
			if *q.day < 0 && o.Reach >= q.share {
				*q.day = day
			}
		}
	}
	return o
}

// level says where the course of a test levels off.
func (o *Outlook) level(c *Course, test int) {
	end := func(p *part) gaussian { return p.filter.sum(p.filter.endTerms(test)...) }
	g := c.mixed(end)
	reach := c.par.confidence * math.Sqrt(g.variance)
	o.Plateau, o.Low, o.High = 100*math.Exp(g.mean), 100*math.Exp(g.mean-reach), 100*math.Exp(g.mean+reach)
	o.Short = c.probability(func(p *part) float64 { return 1 - end(p).atLeast(c.par.even) })
}
