package course

import "math"

// unknown is the prior standard deviation of the logarithm of a level: nothing is
// known of how strong anyone is.
const unknown = 100

// filter is the posterior of the state at one point of the grid. The components of
// the state are, for k tests: the comparison side's levels at the first session
// [0,k), the involved side's plateaus [k,2k), the gap, the walk of the comparison
// side since the first session, the day factors of the comparison and the involved
// side; then what is remembered of earlier sessions.
type filter struct {
	par   *parameters
	tests int
	point
	n, stride  int
	mean       []float64
	covariance []float64 // lower triangle, rows of stride
	along      []float64 // covariance of the state with an observation
	evidence   float64   // logarithm of the density of the observations, but for
	variances  float64   // the product of their latest variances
}

func (f *filter) plateau(test int) int { return f.tests + test }
func (f *filter) gap() int             { return 2 * f.tests }
func (f *filter) walk() int            { return 2*f.tests + 1 }
func (f *filter) dayOf(comparison bool) int {
	if comparison {
		return 2*f.tests + 2
	}
	return 2*f.tests + 3
}

// fixed is the number of components before what is remembered.
func fixed(tests int) int { return 2*tests + 4 }

// newFilter is the prior; at most so many values will be remembered.
func newFilter(par *parameters, tests, memories int, at point) *filter {
	n := fixed(tests)
	stride := n + memories
	block := make([]float64, stride*(stride+2))
	f := &filter{
		par: par, tests: tests, point: at, n: n, stride: stride, variances: 1,
		mean: block[:stride], along: block[stride : 2*stride], covariance: block[2*stride:],
	}
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

// at is an element of the covariance, i not below j.
func (f *filter) at(i, j int) *float64 { return &f.covariance[i*f.stride+j] }

// cov is an element of the covariance.
func (f *filter) cov(i, j int) float64 {
	if i < j {
		i, j = j, i
	}
	return f.covariance[i*f.stride+j]
}

// wait lets time pass: the gap shrinks, and all but the comparison side's levels of
// the first session walk.
func (f *filter) wait(weeks float64) {
	left := math.Exp(-weeks / f.shape.weeks)
	gap := f.gap()
	f.mean[gap] *= left
	for j := range gap + 1 {
		*f.at(gap, j) *= left
	}
	for i := gap; i < f.n; i++ {
		*f.at(i, gap) *= left
	}
	common, own := f.par.plateauDrift*f.par.plateauDrift*weeks, f.par.testDrift*f.par.testDrift*weeks
	for i := range f.tests {
		for j := range i + 1 {
			*f.at(f.plateau(i), f.plateau(j)) += common
		}
		*f.at(f.plateau(i), f.plateau(i)) += own
	}
	*f.at(gap, gap) += f.par.gapDrift * f.par.gapDrift * f.shape.weeks / 2 * (1 - left*left)
	*f.at(f.walk(), f.walk()) += f.par.comparisonDrift * f.par.comparisonDrift * weeks
}

// newDay forgets how good the day before was.
func (f *filter) newDay() {
	comparison, involved := f.dayOf(true), f.dayOf(false)
	for _, day := range [...]int{comparison, involved} {
		f.mean[day] = 0
		clear(f.covariance[day*f.stride : day*f.stride+day+1])
		for i := day; i < f.n; i++ {
			*f.at(i, day) = 0
		}
		*f.at(day, day) = 1
	}
	*f.at(involved, comparison) = f.par.bothSides
}

// observe takes in one measurement: of a level, of what moves it, and of the day.
func (f *filter) observe(o *Observation) {
	level, moves, sign := f.plateau(o.Test), f.gap(), -1.0
	if o.Comparison {
		level, moves, sign = o.Test, f.walk(), 1
	}
	shared, day := f.scale*f.day*o.Shared, f.dayOf(o.Comparison)
	f.fillAlong(level, moves, day, sign, shared)
	expected := shared*f.mean[day] + (f.mean[level] + sign*f.mean[moves])
	variance := shared*f.along[day] + f.rest(o) + (f.along[level] + sign*f.along[moves])
	f.learn(o.Log-expected, variance)
}

// fillAlong is the covariance of the state with one component, plus another with a sign, plus
// the day by its share. They are in this order, and of each pair the row of the later one has
// the covariance.
func (f *filter) fillAlong(level, moves, day int, sign, shared float64) {
	ofLevel, ofMoves, ofDay := f.row(level), f.row(moves), f.row(day)
	along := f.along[:f.n]
	for i := range along[:level] {
		along[i] = shared*ofDay[i] + ofLevel[i] + sign*ofMoves[i]
	}
	for i := level; i < moves; i++ {
		along[i] = shared*ofDay[i] + f.row(i)[level] + sign*ofMoves[i]
	}
	for i := moves; i < day; i++ {
		own := f.row(i)
		along[i] = shared*ofDay[i] + own[level] + sign*own[moves]
	}
	for i := day; i < len(along); i++ {
		own := f.row(i)
		along[i] = shared*own[day] + own[level] + sign*own[moves]
	}
}

// row is the covariance of a component with those up to it.
func (f *filter) row(i int) []float64 { return f.covariance[i*f.stride:][: i+1 : i+1] }

// learn updates the state by a surprise, which has the given variance and the
// covariances in along.
func (f *filter) learn(surprise, variance float64) {
	along := f.along[:f.n]
	f.evidence -= surprise * surprise / variance / 2
	f.variances *= variance
	if f.variances < tiny || f.variances > 1/tiny {
		f.settle()
	}
	for i, a := range along {
		gain := a / variance
		f.mean[i] += gain * surprise
		row := f.covariance[i*f.stride:][:i+1]
		for j, b := range along[:len(row)] {
			row[j] -= gain * b
		}
	}
}

// tiny bounds the product of variances, whose logarithm is taken now and then: one
// for each observation would take as long as a fifth of the rest.
const tiny = 1e-100

func (f *filter) settle() {
	f.evidence -= math.Log(f.variances) / 2
	f.variances = 1
}

// keep appends the difference of two components, or one alone if the other is
// negative.
func (f *filter) keep(plus, minus int) int {
	at := f.n
	f.mean[at] = f.mean[plus]
	row := f.covariance[at*f.stride:][:at+1]
	for i := range at {
		row[i] = f.cov(plus, i)
	}
	if minus >= 0 {
		f.mean[at] -= f.mean[minus]
		for i := range at {
			row[i] -= f.cov(minus, i)
		}
		row[at] = row[plus] - row[minus]
	} else {
		row[at] = row[plus]
	}
	f.n++
	return at
}

// indexTerms is the logarithm of the index of a test now: its plateau less the gap,
// less the comparison side's level at the first session and its walk since.
func (f *filter) indexTerms(test int) [4]term {
	return [4]term{{f.plateau(test), 1}, {f.gap(), -1}, {test, -1}, {f.walk(), -1}}
}
