package course

import (
	"math"
	"sync"
)

// Outlook is what the course says about when a test, or all of them, will be even, if
// it goes on as it does.
type Outlook struct {
	// Reach is the probability of evenness within the protocol's horizon.
	Reach float64
	// Date is the median of the predictive distribution of the first day of evenness,
	// and Earliest and Latest the ends of its interval, if evenness is reached within
	// the horizon; in days from the latest session, -1 if Reach is 0.
	Date, Earliest, Latest int
	// Plateau is the index at which the course levels off, in per cent, with its
	// interval; Short is the probability that this is not even.
	Plateau, Low, High float64
	Short              float64
	// Prospect is what may be said of it.
	Prospect Prospect
}

// allFutures is how many futures are drawn, over all parts of the grid.
const allFutures = 256

// forecaster draws the futures.
type forecaster struct {
	c    *Course
	days int
	// arrivals is the weight of the futures in which a test is first even on a day;
	// the row behind the tests' is of all that decide.
	arrivals []float64
}

// fillOutlooks forecasts each test, and the tests that decide together.
func (c *Course) fillOutlooks() {
	tests := len(c.Tests)
	f := forecaster{c: c, days: c.par.horizon + 1}
	f.arrivals = make([]float64, (tests+1)*f.days)
	decides := make([]bool, tests)
	for _, test := range c.Deciding {
		decides[test] = true
	}
	for i := range c.parts {
		f.draw(&c.parts[i], decides)
	}
	for i := range c.Tests {
		c.Tests[i].Outlook = f.outlook(i)
		c.Tests[i].Outlook.level(c, i)
	}
	if len(c.Deciding) > 0 {
		c.All = f.outlook(tests)
	}
}

// draw adds the futures of one part: how high each test will come in the end, and
// how large the gap is. What all walk from here on is as likely up as down and is left
// out: it would give a date to whoever stays just below evenness.
func (f *forecaster) draw(p *part, decides []bool) {
	tests := len(decides)
	p.futures(tests, func(ends []float64, gap, weight float64) {
		last := 0
		for test, end := range ends {
			day := arrival(end-p.filter.par.even, gap, p.filter.shape.weeks, f.days)
			f.add(test, day, weight)
			if decides[test] {
				last = max(last, day)
			}
		}
		f.add(tests, last, weight)
	})
}

// leastFutures is the fewest for one part of the grid.
const leastFutures = 16

// futures draws the futures of a part: the logarithms of the indices at which the tests
// end, and the gap now.
func (p *part) futures(tests int, each func(ends []float64, gap, weight float64)) {
	mean, root := p.ends(tests)
	futures := max(leastFutures, int(math.Round(p.weight*allFutures)))
	n := tests + 1
	normal, ends, points := make([]float64, n), make([]float64, tests), normalPoints()
	for k := 1; k <= futures; k++ {
		for i := range normal {
			normal[i] = points[k][i%len(primes)]
		}
		for test := range tests {
			ends[test] = mean[test+1] + dot(root[(test+1)*n:][:test+2], normal)
		}
		each(ends, mean[0]+root[0]*normal[0], p.weight/float64(futures))
	}
}

func (f *forecaster) add(row, day int, weight float64) {
	if day < f.days {
		f.arrivals[row*f.days+day] += weight
	}
}

// ends is the mean of the gap, followed by the indices at the end of the course, and
// the Cholesky factor of their covariance.
func (p *part) ends(tests int) (mean, root []float64) {
	f, n := p.filter, tests+1
	mean, root = make([]float64, n), make([]float64, n*n)
	gap := [...]term{{f.gap(), 1}}
	mean[0], root[0] = f.mean[f.gap()], f.cov(f.gap(), f.gap())
	for test := range tests {
		terms, row := f.endTerms(test), root[(test+1)*n:]
		mean[test+1] = f.sum(terms[:]...).mean
		row[0] = f.covarianceOf(terms[:], gap[:])
		for other := range test + 1 {
			others := f.endTerms(other)
			row[other+1] = f.covarianceOf(terms[:], others[:])
		}
	}
	factorise(root, n)
	return mean, root
}

// endTerms is the logarithm of the index of a test once the gap is closed.
func (f *filter) endTerms(test int) [3]term {
	return [3]term{{f.plateau(test), 1}, {test, -1}, {f.walk(), -1}}
}

// arrival is the first day on which an index is even that ends so far above the
// threshold, less a gap that closes; never if that is not before it.
func arrival(excess, gap, weeks float64, never int) int {
	switch {
	case excess >= gap:
		return 0
	case excess <= 0:
		return never
	}
	return int(math.Min(math.Ceil(daysPerWeek*weeks*math.Log(gap/excess)), float64(never)))
}

// primes are those whose square roots make the lattice of the futures (Richtmyer), one for
// each quantity.
var primes = [...]float64{2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47}

// normalPoints are the coordinates of the points of that lattice, from 1 on, as normal
// quantities.
var normalPoints = sync.OnceValue(func() *[allFutures + 1][len(primes)]float64 {
	var points [allFutures + 1][len(primes)]float64
	for k := 1; k < len(points); k++ {
		for i, prime := range primes {
			_, fraction := math.Modf((float64(k) - 0.5) * math.Sqrt(prime))
			points[k][i] = quantile(math.Max(fraction, 1e-9))
		}
	}
	return &points
})

// outlook reads the predictive distribution of a row.
func (f *forecaster) outlook(row int) Outlook {
	o := Outlook{Date: -1, Earliest: -1, Latest: -1}
	arrivals := f.arrivals[row*f.days:][:f.days]
	for _, weight := range arrivals {
		o.Reach += weight
	}
	if o.Reach == 0 {
		return o
	}
	tail := 1 - cumulative(f.c.par.confidence)
	o.Earliest, o.Date, o.Latest = dayOf(arrivals, tail*o.Reach), dayOf(arrivals, o.Reach/2), dayOf(arrivals, (1-tail)*o.Reach)
	return o
}

// dayOf is the first day by which so much weight has arrived.
func dayOf(arrivals []float64, weight float64) int {
	for day, w := range arrivals {
		if weight -= w; weight <= 0 {
			return day
		}
	}
	return len(arrivals) - 1
}

// level says where the course of a test levels off.
func (o *Outlook) level(c *Course, test int) {
	m := c.mixed(func(p *part) gaussian { return p.filter.end(test) })
	g := m.whole()
	low, high := g.interval(c.par.confidence)
	o.Plateau, o.Low, o.High = 100*math.Exp(g.mean), 100*math.Exp(low), 100*math.Exp(high)
	o.Short = 1 - m.atLeast(c.par.even)
}

// end is the logarithm of the index at which a test levels off.
func (f *filter) end(test int) gaussian {
	terms := f.endTerms(test)
	return f.sum(terms[:]...)
}
