package course

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The filter goes through the observations one by one. Here the posterior is computed
// in one step from the covariances of all quantities at all times, as of a Gaussian
// process: another way to the same numbers.

// quantity is a linear combination of levels, gap and walk at given weeks.
type quantity []piece

type piece struct {
	kind   byte // c: comparison level at first, a: plateau, g: gap, w: walk
	test   int
	week   float64
	factor float64
}

// priorMean of a piece, in a model of given parameters.
func (p *piece) priorMean(par *parameters, of shape) float64 {
	switch p.kind {
	case 'a':
		return p.factor * par.plateau
	case 'g':
		return p.factor * of.gap * math.Exp(-p.week/of.weeks)
	}
	return 0
}

func priorCovariance(a, b *piece, par *parameters, of shape) float64 {
	square := func(x float64) float64 { return x * x }
	same := 0.0
	if a.test == b.test {
		same = 1
	}
	early := math.Min(a.week, b.week)
	c := 0.0
	switch kinds := string([]byte{a.kind, b.kind}); kinds {
	case "cc", "ca", "ac":
		c = same * unknown * unknown
	case "aa":
		c = same*unknown*unknown + square(par.plateauSpread) + same*square(par.testSpread) +
			early*(square(par.plateauDrift)+same*square(par.testDrift))
	case "gg":
		both := math.Exp(-(a.week + b.week) / of.weeks)
		c = square(of.spread)*both + square(par.gapDrift)*of.weeks/2*(math.Exp(-math.Abs(a.week-b.week)/of.weeks)-both)
	case "ww":
		c = square(par.comparisonDrift) * early
	}
	return a.factor * b.factor * c
}

func covarianceOfQuantities(x, y quantity, par *parameters, of shape) (sum float64) {
	for i := range x {
		for j := range y {
			sum += priorCovariance(&x[i], &y[j], par, of)
		}
	}
	return sum
}

func meanOfQuantity(x quantity, par *parameters, of shape) (sum float64) {
	for i := range x {
		sum += x[i].priorMean(par, of)
	}
	return sum
}

func measured(o *Observation, first int) quantity {
	week := float64(o.Day-first) / 7
	if o.Comparison {
		return quantity{{'c', o.Test, week, 1}, {'w', 0, week, 1}}
	}
	return strengthAt(o.Test, week)
}

func strengthAt(test int, week float64) quantity {
	return quantity{{'a', test, week, 1}, {'g', 0, week, -1}}
}

func indexAt(test int, week float64) quantity {
	return append(strengthAt(test, week), piece{'c', test, week, -1}, piece{'w', 0, week, -1})
}

// denseOf is the posterior means and covariance of quantities, and the logarithm of
// the density of the observations without its constant.
func denseOf(observations []Observation, wanted []quantity, par *parameters, at point) (mean *mat.VecDense, covariance *mat.Dense, evidence float64) {
	n, first := len(observations), observations[0].Day
	data := mat.NewSymDense(n, nil)
	surprise := mat.NewVecDense(n, nil)
	for i := range observations {
		a := &observations[i]
		surprise.SetVec(i, a.Log-meanOfQuantity(measured(a, first), par, at.shape))
		for j := range i + 1 {
			b := &observations[j]
			c := covarianceOfQuantities(measured(a, first), measured(b, first), par, at.shape)
			if i == j {
				c += at.scale * at.scale * (a.Own*a.Own + a.Shared*a.Shared*(1-at.day*at.day))
			}
			if a.Day == b.Day {
				shared := at.scale * at.scale * at.day * at.day * a.Shared * b.Shared
				if a.Comparison != b.Comparison {
					shared *= par.bothSides
				}
				c += shared
			}
			data.SetSym(i, j, c)
		}
	}
	var root mat.Cholesky
	if !root.Factorize(data) {
		panic("the covariance of the data is not positive")
	}
	cross := mat.NewDense(len(wanted), n, nil)
	prior := mat.NewVecDense(len(wanted), nil)
	covariance = mat.NewDense(len(wanted), len(wanted), nil)
	for i, q := range wanted {
		prior.SetVec(i, meanOfQuantity(q, par, at.shape))
		for j := range observations {
			cross.Set(i, j, covarianceOfQuantities(q, measured(&observations[j], first), par, at.shape))
		}
		for j, r := range wanted {
			covariance.Set(i, j, covarianceOfQuantities(q, r, par, at.shape))
		}
	}
	var solved mat.VecDense
	if err := root.SolveVecTo(&solved, surprise); err != nil {
		panic(err)
	}
	mean = mat.NewVecDense(len(wanted), nil)
	mean.MulVec(cross, &solved)
	mean.AddVec(mean, prior)
	var gain, less mat.Dense
	if err := root.SolveTo(&gain, cross.T()); err != nil {
		panic(err)
	}
	less.Mul(cross, &gain)
	covariance.Sub(covariance, &less)
	return mean, covariance, -(root.LogDet() + mat.Dot(surprise, &solved)) / 2
}

// ragged is a random episode: days apart by chance, tests left out, sides left out,
// errors that differ.
func ragged(rng *rand.Rand, tests int) (observations []Observation) {
	day := 100
	for range 2 + rng.IntN(5) {
		for test := range tests {
			for _, comparison := range []bool{true, false} {
				if rng.Float64() < 0.25 {
					continue
				}
				observations = append(observations, Observation{
					Day: day, Test: test, Comparison: comparison, Log: 4.5 + 0.3*rng.NormFloat64(),
					Own: 0.03 + 0.1*rng.Float64(), Shared: 0.1 * rng.Float64(),
				})
			}
		}
		day += 3 + rng.IntN(40)
	}
	if len(observations) == 0 {
		return ragged(rng, tests)
	}
	return observations
}

func TestFilterAgreesWithTheDensePosterior(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	par := defaultParameters()
	for round := range 60 {
		tests := 1 + rng.IntN(7)
		s := seriesOf(tests, ragged(rng, tests))
		at := point{scale: 0.5 + rng.Float64(), day: rng.Float64()}
		at.shape = shape{0.4 * rng.Float64(), 0.3 * rng.Float64(), 2 + 20*rng.Float64()}
		p := part{filter: newFilter(&par, tests, at)}
		p.again(s, &par, s.newDay())
		start := s.days[0]
		week := func(day int) float64 { return float64(s.days[day]-start) / 7 }
		now := week(len(s.days) - 1)
		var wanted []quantity
		for test := range tests {
			wanted = append(wanted, indexAt(test, now))
		}
		mean, covariance, evidence := denseOf(s.observations, wanted, &par, at)
		near(t, "evidence", p.filter.evidence, evidence, 1e-5)
		for test := range tests {
			near(t, "index", p.filter.against(test, Present).mean, mean.AtVec(test), 1e-7)
			for other := range tests {
				near(t, "covariance", p.filter.againstCovariance(test, other, Present), covariance.At(test, other), 1e-7)
			}
			for k, day := range [...]int{s.past[test].first, s.past[test].last, s.past[test].best} {
				if day < 0 {
					continue
				}
				strength := append(strengthAt(test, now), piece{'a', test, week(day), -1}, piece{'g', 0, week(day), 1})
				index := append(append(quantity{}, strength...), piece{'w', 0, now, -1}, piece{'w', 0, week(day), 1})
				mean, covariance, _ := denseOf(s.observations, []quantity{strength, index}, &par, at)
				for i, got := range [...]gaussian{p.memory.strengths[test][k].strengthSince(p.filter, test), p.memory.strengths[test][k].indexSince(p.filter, test)} {
					near(t, "change", got.mean, mean.AtVec(i), 1e-7)
					near(t, "variance of a change", got.variance, covariance.At(i, i), 1e-7)
				}
			}
		}
		if t.Failed() {
			t.Fatalf("round %d, %d tests, %d days", round, tests, len(s.days))
		}
	}
}
