package course

import "math"

// memory is what a part of the grid remembers of earlier sessions.
type memory struct {
	most      int // measurements of a day
	all       []*remembered
	strengths [][3]*remembered // of each test: at its first, last and best day
}

// remembered is a quantity of an earlier day as all sessions since show it: a strength,
// or the walk of the comparison side.
type remembered struct {
	gaussian
	along []float64 // covariance with the state now
	// walk is the walk of the comparison side on the day of a strength, and withWalk the
	// covariance with it; nil for a walk itself.
	walk     *remembered
	withWalk float64
	// told is the covariances with the surprises of a day, gains the same divided by the
	// variances of these.
	told, gains []float64
}

// keep remembers a combination of the state as it is now; of a strength with the walk of
// its day.
func (m *memory) keep(f *filter, walk *remembered, terms ...term) *remembered {
	block := make([]float64, f.n+2*m.most)
	r := &remembered{gaussian: f.sum(terms...), along: block[:f.n:f.n], walk: walk}
	r.told, r.gains = block[f.n:f.n+m.most:f.n+m.most], block[f.n+m.most:]
	for _, t := range terms {
		for i := range r.along {
			r.along[i] += t.factor * f.cov(i, t.component)
		}
	}
	if walk != nil {
		r.withWalk = r.along[f.walk()]
	}
	m.all = append(m.all, r)
	return r
}

// wait lets time pass, of which what is remembered knows only by the gap, which shrinks.
func (m *memory) wait(f *filter, weeks float64) {
	left := f.left(weeks)
	for _, r := range m.all {
		r.along[f.gap()] *= left
	}
}

// learn takes in the surprises of a day. A walk is remembered before the strengths of its
// day, so it learns first.
func (m *memory) learn(d *day, observations []Observation, f *filter) {
	for _, r := range m.all {
		r.learn(d, observations, f)
	}
}

func (r *remembered) learn(d *day, observations []Observation, f *filter) {
	r.told, r.gains = r.told[:d.count()], r.gains[:d.count()]
	for k := range observations {
		terms := f.terms(&observations[k])
		r.told[k] = combine(r.along, terms[:]) - dot(d.lowerRow(k), r.told)
		r.gains[k] = r.told[k] * d.precision[k]
		r.mean += r.gains[k] * d.surprise(k)
	}
	r.variance -= dot(r.told, r.gains)
	if r.walk != nil {
		r.withWalk -= dot(r.told, r.walk.gains)
	}
	subtract(r.along, r.gains, d.rows, d.n)
}

// strengthSince is the logarithm of a strength now over what it was when it was remembered.
func (r *remembered) strengthSince(f *filter, test int) gaussian {
	terms := [...]term{{f.plateau(test), 1}, {f.gap(), -1}}
	now := f.sum(terms[:]...)
	return gaussian{now.mean - r.mean, math.Max(now.variance+r.variance-2*combine(r.along, terms[:]), 0)}
}

// indexSince is the same of the index, which the walk of the comparison side changes too.
func (r *remembered) indexSince(f *filter, test int) gaussian {
	terms := [...]term{{f.plateau(test), 1}, {f.gap(), -1}, {f.walk(), -1}}
	now, walk := f.sum(terms[:]...), r.walk
	then := r.variance + walk.variance - 2*r.withWalk
	both := combine(r.along, terms[:]) - combine(walk.along, terms[:])
	return gaussian{now.mean - r.mean + walk.mean, math.Max(now.variance+then-2*both, 0)}
}
