package course

import "math"

// day is what the measurements of one day tell a filter: of each the surprise, which is
// the measurement less what was expected of it from the state and from the measurements
// before it on the list. Surprises are independent of each other.
type day struct {
	measured []measurement
	n        int // components of the state
	// rows has one for each measurement: its covariances with the state, and once whitened
	// those of its surprise.
	rows []float64
	// The covariance of the measurements is L D L', L with a diagonal of 1 and D diagonal:
	// lower is L without its diagonal, upper D L' with the surprises as its last column, and
	// precision what 1 is divided by each of D.
	lower, upper, precision []float64
	evidence                float64   // logarithm of the density of the measurements
	moves                   []float64 // the covariances of the state with what moves the levels of each side
	told                    []float64 // memory of learn
}

// measurement is what a measurement is of but for its own error: a level, what moves all levels
// of its side, and the day, on which all tests of a side are good or bad together.
type measurement struct {
	level, side int
	shared      float64 // standard deviation of what it shares with the others of its side
}

// newDay has room for so many measurements.
func newDay(measurements, components int) *day {
	block := make([]float64, measurements*(2*measurements+components+3)+2*components)
	cut := func(length int) (piece []float64) {
		piece, block = block[:length], block[length:]
		return piece
	}
	return &day{
		measured: make([]measurement, 0, measurements), n: components,
		rows: cut(measurements * components), moves: cut(2 * components), told: cut(measurements),
		lower: cut(measurements * measurements), upper: cut(measurements * (measurements + 1)), precision: cut(measurements),
	}
}

func (d *day) count() int               { return len(d.measured) }
func (d *day) row(k int) []float64      { return d.rows[k*d.n:][:d.n] }
func (d *day) lowerRow(k int) []float64 { return d.lower[k*d.count():][:k] }

// upperRow is a row of D L' from the diagonal on, with the surprise.
func (d *day) upperRow(k int) []float64 {
	columns := d.count() + 1
	return d.upper[k*columns:][k:columns]
}

// surprise is the one of a measurement.
func (d *day) surprise(k int) float64 { return d.upper[(k+1)*(d.count()+1)-1] }

// measure compares the measurements of a day with what a filter expects.
func (d *day) measure(f *filter, observations []Observation) {
	d.expect(f, observations)
	d.evidence = 0
	product := 1.0
	for k := range observations {
		o := &observations[k]
		d.covary(k, f, o)
		d.factorise(k)
		d.evidence -= d.surprise(k) * d.surprise(k) * d.precision[k] / 2
		product *= d.precision[k]
		if product < tiny || product > 1/tiny {
			d.evidence, product = d.evidence+math.Log(product)/2, 1
		}
	}
	d.evidence += math.Log(product) / 2
}

// tiny bounds the product of precisions, whose logarithm is taken now and then:
// one for each measurement would take as long as a fifth of the rest.
const tiny = 1e-100

// expect lists what is measured, with its covariances with the state.
func (d *day) expect(f *filter, observations []Observation) {
	f.covariances(f.gap(), d.moves[:d.n])
	f.covariances(f.walk(), d.moves[d.n:])
	d.measured = d.measured[:0]
	for k := range observations {
		d.measured = append(d.measured, f.measured(&observations[k]))
		m, row := &d.measured[k], d.row(k)
		f.covariances(m.level, row)
		add(row, signs[m.side], d.moves[m.side*d.n:])
	}
}

// signs of what moves the levels of a side: the gap, and the walk.
var signs = [...]float64{involved: -1, comparison: 1}

// covary writes the covariances of a measurement with itself and those behind it, and how much
// it is above what is expected of it from the state.
func (d *day) covary(k int, f *filter, o *Observation) {
	m, row, upper := &d.measured[k], d.row(k), d.upperRow(k)
	gap, walk := f.gap(), f.walk()
	moved := [...]float64{involved: -row[gap], comparison: row[walk]}
	means := [...]float64{involved: -f.mean[gap], comparison: f.mean[walk]}
	shared := [...]float64{m.shared * f.par.bothSides, m.shared * f.par.bothSides}
	shared[m.side] = m.shared
	behind := d.measured[k:]
	for l := range behind {
		other := &behind[l]
		upper[l] = row[other.level] + moved[other.side] + shared[other.side]*other.shared
	}
	upper[0] += f.rest(o)
	upper[len(behind)] = o.Log - (f.mean[m.level] + means[m.side])
}

// factorise takes from a measurement what those before it on the list have told.
func (d *day) factorise(k int) {
	upper, lower := d.upperRow(k), d.lowerRow(k)
	for l := range lower {
		lower[l] = d.upper[l*(d.count()+1)+k] * d.precision[l]
	}
	subtract(upper, lower, d.upper[k:], d.count()+1)
	d.precision[k] = 1 / upper[0]
}

// whiten makes the covariances of the state with the measurements those with the surprises.
func (d *day) whiten() {
	for k := range d.measured {
		subtract(d.row(k), d.lowerRow(k), d.rows, d.n)
	}
}

// measured is what a measurement is of.
func (f *filter) measured(o *Observation) measurement {
	if o.Comparison {
		return measurement{o.Test, comparison, f.shared(o)}
	}
	return measurement{f.plateau(o.Test), involved, f.shared(o)}
}

// shared is the standard deviation of the day.
func (f *filter) shared(o *Observation) float64 { return f.scale * f.day * o.Shared }

// terms is what a measurement is of but for the day: a level, and what moves it.
func (f *filter) terms(o *Observation) [2]term {
	if o.Comparison {
		return [...]term{{o.Test, 1}, {f.walk(), 1}}
	}
	return [...]term{{f.plateau(o.Test), 1}, {f.gap(), -1}}
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
// time.
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
