package course

import "math"

// day is what the measurements of one day tell a filter: of each the surprise, which is
// the measurement less what was expected of it from the state and from the measurements
// before it on the list, in standard deviations. Surprises are independent of each other.
//
// All tests of a side are good or bad together on a day, as a day factor says. It is a
// part of the state for that day only: it stands in the columns behind the state's, the
// comparison side's first, and behind both the surprise itself.
type day struct {
	columns, measurements int       // for which there is room
	rows                  []float64 // one for each surprise: its covariances with the state and the day factors, and itself
	count                 int       // of the rows that are filled
	root                  []float64 // Cholesky factor of the covariance of the measurements
	logRoot               float64   // logarithm of the product of its diagonal
	memory                []float64 // of column
}

// The columns behind those of a state, from its end.
const (
	dayOfComparison = iota
	dayOfInvolved
	surprise
	behindState
)

// newDay has room for so many measurements.
func newDay(measurements, components int) *day {
	columns := components + behindState
	block := make([]float64, measurements*(measurements+columns+1))
	cut := func(length int) (piece []float64) {
		piece, block = block[:length], block[length:]
		return piece
	}
	return &day{
		columns: columns, measurements: measurements,
		rows: cut(measurements * columns), root: cut(measurements * measurements), memory: cut(measurements),
	}
}

func (d *day) row(k int) []float64     { return d.rows[k*d.columns:][:d.columns] }
func (d *day) rootRow(k int) []float64 { return d.root[k*d.measurements:][:k+1] }

// surprise is the one of a measurement.
func (d *day) surprise(k int) float64 { return d.rows[(k+1)*d.columns-1] }

// column is one number of each row.
func (d *day) column(i int) []float64 {
	column := d.memory[:d.count]
	for k := range column {
		column[k] = d.rows[k*d.columns+i]
	}
	return column
}

// measure compares the measurements of a day with what a filter expects.
func (d *day) measure(f *filter, observations []Observation) {
	d.count, d.logRoot = len(observations), 0
	product := 1.0
	for k := range observations {
		o := &observations[k]
		terms := f.terms(o)
		f.fillRow(d.row(k), o, &terms)
		product *= d.whiten(k, terms[:], f.rest(o))
		if product < tiny || product > 1/tiny {
			d.logRoot, product = d.logRoot+math.Log(product), 1
		}
	}
	d.logRoot += math.Log(product)
}

// tiny bounds the product of standard deviations, whose logarithm is taken now and then:
// one for each measurement would take as long as a fifth of the rest.
const tiny = 1e-100

// whiten takes from a measurement what those before it on the list have told, and divides
// it by the standard deviation of the rest, which it returns.
func (d *day) whiten(k int, terms []term, rest float64) float64 {
	root, row := d.rootRow(k), d.row(k)
	for l := range k {
		root[l] = combine(d.rows[l*d.columns:], terms)
	}
	subtract(row, root[:k], d.rows, d.columns)
	root[k] = math.Sqrt(combine(row, terms) + rest)
	part := 1 / root[k]
	for i := range row {
		row[i] *= part
	}
	return root[k]
}

// terms is what a measurement is of, but for its own error: a level, what moves it, and the
// day.
func (f *filter) terms(o *Observation) [3]term {
	shared := f.scale * f.day * o.Shared
	if o.Comparison {
		return [...]term{{o.Test, 1}, {f.walk(), 1}, {f.n + dayOfComparison, shared}}
	}
	return [...]term{{f.plateau(o.Test), 1}, {f.gap(), -1}, {f.n + dayOfInvolved, shared}}
}

// fillRow writes the covariance of the state and of the day factors with a measurement, and
// the measurement less what is expected of it. The level comes first in the state, and of each
// pair the row of the later one has the covariance.
func (f *filter) fillRow(row []float64, o *Observation, terms *[3]term) {
	level, moves, sign := terms[0].component, terms[1].component, terms[1].factor
	ofLevel, ofMoves := f.row(level), f.row(moves)
	for i := range level {
		row[i] = ofLevel[i] + sign*ofMoves[i]
	}
	for i := level; i < moves; i++ {
		row[i] = f.row(i)[level] + sign*ofMoves[i]
	}
	for i := moves; i < f.n; i++ {
		row[i] = f.row(i)[level] + sign*f.row(i)[moves]
	}
	day := row[f.n:]
	day[dayOfComparison], day[dayOfInvolved] = f.par.bothSides*terms[2].factor, f.par.bothSides*terms[2].factor
	row[terms[2].component] = terms[2].factor
	day[surprise] = o.Log - (f.mean[level] + sign*f.mean[moves])
}

// rest is the variance of a measurement that no other of its day shares.
func (f *filter) rest(o *Observation) float64 {
	return math.Max(f.scale*f.scale*(o.Own*o.Own+o.Shared*o.Shared*(1-f.day*f.day)), leastRest)
}

// leastRest is the square of the least error of a measurement, 0.01 %. A protocol may say that
// the tests of a day share all of their error; then rounding would decide what is left. Ours.
const leastRest = 1e-8

// dot is the sum of the products of two lists, as far as the first goes.
func dot(a, b []float64) (sum float64) {
	b = b[:len(a)]
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// add adds a multiple of one list to another.
func add(to []float64, factor float64, from []float64) {
	from = from[:len(to)]
	for i := range to {
		to[i] += factor * from[i]
	}
}

// subtract takes from a list multiples of the first rows of a matrix, four rows at a
// time: most of the time of the whole model is spent here.
func subtract(from, factors, rows []float64, stride int) {
	n := len(from)
	for ; len(factors) >= 4; factors, rows = factors[4:], rows[4*stride:] {
		a, b, c, d := rows[:n], rows[stride:][:n], rows[2*stride:][:n], rows[3*stride:][:n]
		p, q, r, s := factors[0], factors[1], factors[2], factors[3]
		for i := range from {
			from[i] -= p*a[i] + q*b[i] + (r*c[i] + s*d[i])
		}
	}
	for k, factor := range factors {
		add(from, -factor, rows[k*stride:])
	}
}
