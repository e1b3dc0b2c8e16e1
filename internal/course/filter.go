package course

import (
	"math"
	"slices"
)

// unknown is the prior standard deviation of the logarithm of a level: nothing is
// known of how strong anyone is.
const unknown = 100

// filter is the posterior of the state at one point of the grid. The components of
// the state are, for k tests: the comparison side's levels at the first session
// [0,k), the involved side's plateaus [k,2k), the gap, and the walk of the comparison
// side since the first session.
type filter struct {
	par   *parameters
	tests int
	point
	n          int
	mean       []float64
	covariance []float64 // lower triangle, row by row
	evidence   float64   // logarithm of the density of the observations
}

func (f *filter) plateau(test int) int { return f.tests + test }
func (f *filter) gap() int             { return 2 * f.tests }
func (f *filter) walk() int            { return 2*f.tests + 1 }

// components is of how many quantities the state consists.
func components(tests int) int { return 2*tests + 2 }

// newFilter is the prior.
func newFilter(par *parameters, tests int, at point) *filter {
	n := components(tests)
	block := make([]float64, n+n*(n+1)/2)
	f := &filter{par: par, tests: tests, point: at, n: n, mean: block[:n:n], covariance: block[n:]}
	common, own := par.plateauSpread*par.plateauSpread, par.testSpread*par.testSpread
	for i := range tests {
		f.mean[f.plateau(i)] = par.plateau
		*f.at(i, i) = unknown * unknown
		*f.at(f.plateau(i), i) = unknown * unknown
		for j := range i {
			*f.at(f.plateau(i), f.plateau(j)) = common
		}
		*f.at(f.plateau(i), f.plateau(i)) = unknown*unknown + common + own
	}
	f.mean[f.gap()] = at.shape.gap
	*f.at(f.gap(), f.gap()) = at.shape.spread * at.shape.spread
	return f
}

// clone is a copy that goes its own way.
func (f *filter) clone() *filter {
	other := *f
	block := slices.Concat(f.mean, f.covariance)
	other.mean, other.covariance = block[:f.n:f.n], block[f.n:]
	return &other
}

// at is an element of the covariance, i not below j.
func (f *filter) at(i, j int) *float64 { return &f.covariance[i*(i+1)/2+j] }

// cov is an element of the covariance.
func (f *filter) cov(i, j int) float64 {
	if i < j {
		i, j = j, i
	}
	return *f.at(i, j)
}

// wait lets time pass: the gap shrinks, and all but the comparison side's levels of
// the first session walk.
func (f *filter) wait(weeks float64) {
	left := f.left(weeks)
	gap, walk := f.gap(), f.walk()
	f.mean[gap] *= left
	for j := range gap {
		*f.at(gap, j) *= left
	}
	*f.at(gap, gap) *= left * left
	*f.at(walk, gap) *= left
	common, own := f.par.plateauDrift*f.par.plateauDrift*weeks, f.par.testDrift*f.par.testDrift*weeks
	for i := range f.tests {
		for j := range i + 1 {
			*f.at(f.plateau(i), f.plateau(j)) += common
		}
		*f.at(f.plateau(i), f.plateau(i)) += own
	}
	*f.at(gap, gap) += f.par.gapDrift * f.par.gapDrift * f.shape.weeks / 2 * (1 - left*left)
	*f.at(walk, walk) += f.par.comparisonDrift * f.par.comparisonDrift * weeks
}

// left is the part of the gap that is left after some weeks.
func (f *filter) left(weeks float64) float64 { return math.Exp(-weeks / f.shape.weeks) }

// learn takes in the surprises of a day.
//
// Source: the update of a Kalman filter with several measurements at a time, by the
// factors of their covariance.
func (f *filter) learn(d *day) {
	d.whiten()
	told := d.told[:d.count()]
	for k := range told {
		told[k] = -d.surprise(k) * d.precision[k]
	}
	subtract(f.mean, told, d.rows, d.n)
	k := 0
	for ; k+4 <= d.count(); k += 4 {
		f.learnFour(d, k)
	}
	for ; k < d.count(); k++ {
		row := d.row(k)
		for i := range row {
			add(f.row(i), -row[i]*d.precision[k], row)
		}
	}
}

// learnFour takes what four surprises tell from the covariance: four at a time, because it takes
// most of the time of a filter.
func (f *filter) learnFour(d *day, k int) {
	rowA, rowB, rowC, rowD, precision := d.row(k), d.row(k+1), d.row(k+2), d.row(k+3), d.precision[k:][:4]
	for i := range rowA {
		p, q, r, s := rowA[i]*precision[0], rowB[i]*precision[1], rowC[i]*precision[2], rowD[i]*precision[3]
		row := f.row(i)
		a, b, c, d := rowA[:len(row)], rowB[:len(row)], rowC[:len(row)], rowD[:len(row)]
		for j := range row {
			row[j] -= p*a[j] + q*b[j] + (r*c[j] + s*d[j])
		}
	}
}

// row is the covariance of a component with those up to it.
func (f *filter) row(i int) []float64 { return f.covariance[i*(i+1)/2:][:i+1] }

// covariances copies those of a component with all.
func (f *filter) covariances(i int, to []float64) {
	copy(to, f.row(i))
	at := i*(i+1)/2 + i
	for j := i + 1; j < len(to); j++ {
		at += j
		to[j] = f.covariance[at]
	}
}

// indexTerms is the logarithm of the index of a test now: its plateau less the gap,
// less the comparison side's level at the first session and its walk since.
func (f *filter) indexTerms(test int) [4]term {
	return [4]term{{f.plateau(test), 1}, {f.gap(), -1}, {test, -1}, {f.walk(), -1}}
}
