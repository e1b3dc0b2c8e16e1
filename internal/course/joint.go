package course

import (
	"cmp"
	"math"
	"slices"
)

// Yardstick is the comparison side's strength that the involved side is held
// against.
type Yardstick uint8

// The yardsticks.
const (
	Present Yardstick = iota // as it is now
	Initial                  // as it was at the first session
)

// AllEven is the probability that the true indices of the tests that decide are all
// even, each of them against the comparison side's strength now, or, if the comparison side has
// probably become weaker since the first session, against its strength then: a
// weaker comparison side makes nobody even. It is never more than the probability that any one
// of them is even against the strength now, which stands beside it.
// It takes a sixth of the time of the whole course, and several ask for it: it is computed once.
func (c *Course) AllEven() float64 {
	c.evenOnce.Do(func() { c.even = allEven(c.parts, c.Deciding, &c.par) })
	return c.even
}

func allEven(parts []part, tests []int, par *parameters) (probability float64) {
	yardstick, walk := Present, 0.0
	for i := range parts {
		walk += parts[i].weight * parts[i].filter.mean[parts[i].filter.walk()]
	}
	if walk < 0 {
		yardstick = Initial
	}
	for i := range parts {
		probability += parts[i].weight * parts[i].orthant(tests, yardstick, par.even, pointsFor(parts[i].weight))
	}
	for _, test := range tests {
		probability = min(probability, evenNow(parts, test, par))
	}
	return probability
}

// evenNow is the probability that one test is even against the comparison side's strength now.
func evenNow(parts []part, test int, par *parameters) (probability float64) {
	for i := range parts {
		probability += parts[i].weight * parts[i].filter.against(test, Present).atLeast(par.even)
	}
	return probability
}

// latticeSize is the number of points of the lattice, for a part of the grid that has much of
// the weight. With six tests the error is then below 0.002 (TestAllEvenIsExact).
const latticeSize = 64

// pointsFor is how many points a part of the grid gets: of a half or a quarter of them the error
// is several times as large, but counts less.
func pointsFor(weight float64) int {
	switch {
	case weight >= 0.25:
		return latticeSize
	case weight >= 0.1:
		return latticeSize / 2
	}
	return latticeSize / 4
}

// nextToNever: what is so many standard deviations below the threshold has a probability
// of less than one in a million, and all together have no more than it. Nobody is shown
// such a number, and most patients are there until late.
const nextToNever = -5

// orthant is the probability that all indices are at least a threshold.
//
// Source: the separation of variables of Genz 1992, J Comput Graph Stat 1:141-9, with the
// variables in order of their probabilities, over a lattice.
func (p *part) orthant(tests []int, yardstick Yardstick, threshold float64, points int) float64 {
	f := p.filter
	ordered := make([]margin, len(tests))
	for i, test := range tests {
		g := f.against(test, yardstick)
		ordered[i] = margin{test, g.mean - threshold, (g.mean - threshold) / math.Sqrt(g.variance)}
	}
	slices.SortStableFunc(ordered, func(a, b margin) int { return cmp.Compare(a.errors, b.errors) })
	if len(ordered) > 0 && ordered[0].errors < nextToNever {
		return 0
	}
	n := len(ordered)
	root := make([]float64, n*n)
	for i := range n {
		for j := range i + 1 {
			root[i*n+j] = f.againstCovariance(ordered[i].test, ordered[j].test, yardstick)
		}
	}
	factorise(root, n)
	return orthantOf(ordered, root, points)
}

// margin is how far the index of a test is above the threshold, as a logarithm and
// in standard deviations.
type margin struct {
	test           int
	excess, errors float64
}

// factorise replaces the lower triangle of a covariance by its Cholesky factor. A
// variable that the others determine gets a diagonal of 0.
func factorise(a []float64, n int) {
	for j := range n {
		for i := j; i < n; i++ {
			sum := a[i*n+j]
			for k := range j {
				sum -= a[i*n+k] * a[j*n+k]
			}
			switch {
			case i == j:
				a[i*n+j] = math.Sqrt(math.Max(sum, 0))
			case a[j*n+j] > 0:
				a[i*n+j] = sum / a[j*n+j]
			default:
				a[i*n+j] = 0
			}
		}
	}
}

// generator of the lattice, a number for each variable but the last.
//
// Source: the search component by component of Sloan and Reztsov 2002, Math Comp
// 71:263-73, which TestLatticeIsTheBestOfItsKind repeats.
var generator = [...]int{1, 19, 29, 31, 27}

// latticePoint is a coordinate of a point of the lattice, half a step aside so that no
// point lies on an edge, and folded so that the integrand is periodic.
//
// Source of the fold: Hickernell 2002, in Monte Carlo and Quasi-Monte Carlo Methods 2000,
// Springer, 274-89.
func latticePoint(k, coordinate, points int) float64 {
	_, fraction := math.Modf((float64(k) + 0.5) * float64(generator[coordinate%len(generator)]) / float64(points))
	return 1 - math.Abs(2*fraction-1)
}

// orthantOf integrates over the lattice.
func orthantOf(ordered []margin, root []float64, points int) float64 {
	n := len(ordered)
	if n == 0 {
		return 1
	}
	z := make([]float64, n)
	first := belowLimit(ordered[0].excess, root[0])
	sum := 0.0
	for k := range points {
		product, share := first, first
		for i := 1; i < n && product > 0; i++ {
			z[i-1] = quantile(math.Max(share*latticePoint(k, i-1, points), math.SmallestNonzeroFloat64))
			share = belowLimit(ordered[i].excess-dot(root[i*n:][:i], z), root[i*n+i])
			product *= share
		}
		sum += product
	}
	return sum / float64(points)
}

// belowLimit is the probability that a normal variable of a standard deviation stays
// below a limit.
func belowLimit(limit, spread float64) float64 {
	if spread == 0 {
		if limit >= 0 {
			return 1
		}
		return 0
	}
	return cumulative(limit / spread)
}

// against is the logarithm of the index of a test now against a yardstick.
func (f *filter) against(test int, yardstick Yardstick) gaussian {
	terms := f.indexTerms(test)
	return f.sum(terms[:termsOf(yardstick)]...)
}

// againstCovariance is the covariance of two such indices.
func (f *filter) againstCovariance(a, b int, yardstick Yardstick) (sum float64) {
	x, y := f.indexTerms(a), f.indexTerms(b)
	return f.covarianceOf(x[:termsOf(yardstick)], y[:termsOf(yardstick)])
}

// termsOf is how many terms of an index count: the walk of the comparison side, which
// is the last one, only for its present strength.
func termsOf(yardstick Yardstick) int {
	if yardstick == Initial {
		return 3
	}
	return 4
}
