package course

import (
	"math"
	"math/rand/v2"
	"testing"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
)

// plain is the model without anything but levels and independent errors: nothing is
// known beforehand of the index, nothing moves, and the error is known.
func plain() parameters {
	par := defaultParameters()
	par.plateauSpread, par.testSpread = 50, 50
	par.comparisonDrift, par.plateauDrift, par.testDrift, par.gapDrift = 0, 0, 0, 0
	par.grid = []point{{scale: 1, day: 1, shape: shape{weeks: 10}}}
	return par
}

// With one visit and no day factor the index is the ratio of the strengths, and its
// interval Fieller's on logarithms: exp(log ratio +- z sqrt(a^2 + b^2)), which to the
// first order is that of Fieller 1954 on the strengths.
func TestOneVisitIsFiellerOnLogarithms(t *testing.T) {
	const own = 0.02
	c := of([]Observation{
		{Test: 0, Comparison: true, Log: math.Log(100), Own: own},
		{Test: 0, Log: math.Log(80), Own: own},
	}, 1, []int{0}, plain())
	now := c.Tests[0].Now()
	z := 1.6448536269514722 // 90 %, two-sided
	near(t, "index", now.Index, 80, 1e-3)
	near(t, "low", now.Low, 80*math.Exp(-z*own*math.Sqrt2), 1e-3)
	near(t, "high", now.High, 80*math.Exp(z*own*math.Sqrt2), 1e-3)
	fieller := measure.Fieller(80, 80*own, 100, 100*own, z)
	near(t, "Fieller's low", now.Low, 100*fieller.Low, 0.1)
	near(t, "Fieller's high", now.High, 100*fieller.High, 0.1)
}

// Without drift a level is the mean of its measurements, weighted by the inverse of
// their variances.
func TestWithoutDriftIsTheWeightedMean(t *testing.T) {
	var observations []Observation
	logs, errors := []float64{4.30, 4.42, 4.36, 4.50}, []float64{0.05, 0.10, 0.07, 0.20}
	sum, weight := 0.0, 0.0
	for i := range logs {
		observations = append(observations, Observation{Day: 10 * i, Log: logs[i], Own: errors[i]},
			Observation{Day: 10 * i, Comparison: true, Log: 4.6, Own: 0.1})
		sum += logs[i] / errors[i] / errors[i]
		weight += 1 / errors[i] / errors[i]
	}
	now := of(observations, 1, []int{0}, plain()).Tests[0].Now()
	near(t, "index", math.Log(now.Index/100), sum/weight-4.6, 1e-5)
	spread := math.Log(now.High/now.Low) / 2 / 1.6448536269514722
	near(t, "spread", spread, math.Sqrt(1/weight+0.1*0.1/4), 1e-5)
}

// A comparison score that serves three sessions is one measurement: measuring it three
// times tells more.
func TestOneComparisonScoreIsOneMeasurement(t *testing.T) {
	par := plain()
	var carried, repeated []Observation
	for visit := range 3 {
		involved := Observation{Day: 7 * visit, Log: math.Log(90), Own: 0.1}
		comparison := Observation{Day: 7 * visit, Comparison: true, Log: math.Log(100), Own: 0.1}
		if visit == 0 {
			carried = append(carried, comparison)
		}
		carried, repeated = append(carried, involved), append(repeated, comparison, involved)
	}
	for _, tt := range []struct {
		name         string
		observations []Observation
		want         float64 // standard deviation: of means of independent errors
	}{{"carried", carried, 0.1 * math.Sqrt(1.0/3+1)}, {"repeated", repeated, 0.1 * math.Sqrt(2.0/3)}} {
		now := of(tt.observations, 1, []int{0}, par).Tests[0].Now()
		near(t, tt.name, math.Log(now.High/now.Low)/2/1.6448536269514722, tt.want, 1e-5)
	}
}

// The probability that six tests correlated alike are all above a threshold is an
// integral over what they have in common: of Phi((excess + sqrt(r) x) / sqrt(1 - r))^6.
func TestAllEvenIsExact(t *testing.T) {
	for _, tests := range []int{2, 6} {
		for _, correlation := range []float64{0, 0.3, 0.6, 0.9} {
			for _, excess := range []float64{-1.5, -0.5, 0, 0.7, 2} {
				want := 0.0
				const step = 0.01
				for x := -8.0; x < 8; x += step {
					each := cumulative((excess + math.Sqrt(correlation)*x) / math.Sqrt(1-correlation))
					want += math.Pow(each, float64(tests)) * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * step
				}
				ordered, root := make([]margin, tests), make([]float64, tests*tests)
				for i := range tests {
					ordered[i] = margin{excess: excess}
					for j := range i + 1 {
						root[i*tests+j] = correlation
					}
					root[i*tests+i] = 1
				}
				factorise(root, tests)
				near(t, "all even", orthantOf(ordered, root, latticeSize), want, 0.002)
			}
		}
	}
}

// A protocol may take measurements for exact. The answer is of numbers all the same, and sure.
func TestMeasurementsWithoutErrorGiveNumbers(t *testing.T) {
	for _, err := range []float64{1e-3, 1e-5, 1e-6, 1e-9, 0} {
		var observations []Observation
		for visit := range 4 {
			for range 2 { // measured twice on the day
				for test := range 6 {
					for _, comparison := range []bool{true, false} {
						observations = append(observations, Observation{Day: 14 * visit, Test: test, Comparison: comparison, Log: 4, Own: err, Shared: err})
					}
				}
			}
		}
		c := Of(observations, 6, sixTests, protocol.Default())
		for i := range c.Tests {
			near(t, "index", c.Tests[i].Now().Index, 100, 0.01)
			near(t, "even", c.Tests[i].Now().Even, 1, 1e-9)
		}
		near(t, "all even", c.AllEven(), 1, 1e-9)
	}
}

// The generator is found one coordinate after the other: each is the odd number with which the
// worst error of the lattice for periodic functions is smallest, a product over the coordinates of
// 1 + 2 pi^2 B2(x), where B2 is the second polynomial of Bernoulli.
func TestLatticeIsTheBestOfItsKind(t *testing.T) {
	factor := func(k, z int) float64 {
		x := float64(k*z%latticeSize) / latticeSize
		return 1 + 2*math.Pi*math.Pi*(x*x-x+1.0/6)
	}
	var products [latticeSize]float64
	for k := range products {
		products[k] = 1
	}
	for coordinate, got := range generator {
		best, least := 0, math.Inf(1)
		for z := 1; z < latticeSize/2; z += 2 {
			worst := 0.0
			for k, product := range products {
				worst += product * factor(k, z)
			}
			if worst < least*(1-1e-12) {
				best, least = z, worst
			}
		}
		if got != best {
			t.Errorf("coordinate %d = %d, want %d", coordinate, got, best)
		}
		for k := range products {
			products[k] *= factor(k, best)
		}
	}
}

// drawn is an episode drawn from what the model assumes, with its true indices at the
// last visit.
func drawn(rng *rand.Rand, par *parameters, tests int) (observations []Observation, indices []float64) {
	at := par.grid[rng.IntN(len(par.grid))]
	at.scale = math.Exp(0.35 * rng.NormFloat64())
	normal := func(spread float64) float64 { return spread * rng.NormFloat64() }
	common, gap, walk := par.plateau+normal(par.plateauSpread), at.shape.gap+normal(at.shape.spread), 0.0
	level, plateau := make([]float64, tests), make([]float64, tests)
	for i := range tests {
		level[i] = 4.5 + normal(0.4)
		plateau[i] = level[i] + common + normal(par.testSpread)
	}
	visits, day := 2+rng.IntN(5), 0
	for visit := range visits {
		if visit > 0 {
			days := 7 + rng.IntN(28)
			day += days
			weeks := float64(days) / 7
			left := math.Exp(-weeks / at.shape.weeks)
			gap = gap*left + normal(par.gapDrift*math.Sqrt(at.shape.weeks/2*(1-left*left)))
			walk += normal(par.comparisonDrift * math.Sqrt(weeks))
			all := normal(par.plateauDrift * math.Sqrt(weeks))
			for i := range tests {
				plateau[i] += all + normal(par.testDrift*math.Sqrt(weeks))
			}
		}
		x, y := rng.NormFloat64(), rng.NormFloat64()
		good := [2]float64{x, par.bothSides*x + math.Sqrt(1-par.bothSides*par.bothSides)*y}
		for i := range tests {
			const own, shared = 0.07, 0.07
			part := at.day * shared
			rest := math.Sqrt(own*own + shared*shared - part*part)
			observations = append(observations,
				Observation{Day: day, Test: i, Comparison: true, Log: level[i] + walk + at.scale*(part*good[0]+normal(rest)), Own: own, Shared: shared},
				Observation{Day: day, Test: i, Log: plateau[i] - gap + at.scale*(part*good[1]+normal(rest)), Own: own, Shared: shared})
		}
	}
	for i := range tests {
		indices = append(indices, plateau[i]-gap-level[i]-walk)
	}
	return observations, indices
}

// reliability counts predictions by tenths.
type reliability struct {
	count, happened [10]int
	sum             [10]float64
	score           float64
}

func (r *reliability) add(p float64, happened bool) {
	i := min(9, int(10*p))
	r.count[i]++
	r.sum[i] += p
	truth := 0.0
	if happened {
		truth = 1
		r.happened[i]++
	}
	r.score += (p - truth) * (p - truth)
}

// check allows four standard errors in each tenth.
func (r *reliability) check(t *testing.T, what string) {
	t.Helper()
	n := 0
	for i := range r.count {
		count := float64(r.count[i])
		n += r.count[i]
		if r.count[i] < 20 {
			continue
		}
		predicted, share := r.sum[i]/count, float64(r.happened[i])/count
		if within := 4*math.Sqrt(predicted*(1-predicted)/count) + 0.01; math.Abs(share-predicted) > within {
			t.Errorf("%s, tenth %d: %.3f happened, %.3f predicted, %d times", what, i, share, predicted, r.count[i])
		}
	}
	brier := r.score / float64(n)
	t.Logf("%s: Brier %.3f of %d predictions", what, brier, n)
	if brier > 0.2 {
		t.Errorf("%s: Brier %.3f, want less than the 0.25 of a coin", what, brier)
	}
}

// On episodes that are drawn from what it assumes the model must be calibrated,
// whatever the grid leaves out.
func TestProbabilitiesAreCalibrated(t *testing.T) {
	rng := rand.New(rand.NewPCG(20261128, 1))
	par := defaultParameters()
	var one, all, below reliability
	covered, intervals := 0, 0
	for range 1500 {
		const tests = 4
		observations, indices := drawn(rng, &par, tests)
		c := of(observations, tests, everyTest(tests), par)
		lowest := math.Inf(1)
		for i, index := range indices {
			now := c.Tests[i].Now()
			one.add(now.Even, index >= par.even)
			below.add(1-now.GoodEnough, index < par.goodEnough)
			lowest = math.Min(lowest, index)
			intervals++
			if now.Low <= 100*math.Exp(index) && 100*math.Exp(index) <= now.High {
				covered++
			}
		}
		joint := 0.0
		for i := range c.parts {
			joint += c.parts[i].weight * c.parts[i].orthant(c.Deciding, Present, par.even, latticeSize)
		}
		all.add(joint, lowest >= par.even)
	}
	one.check(t, "one test is even")
	below.check(t, "one test is below good enough")
	all.check(t, "all tests are even")
	// Four tests of one patient go together, so the error is that of 1500 patients.
	near(t, "coverage of the 90 % interval", float64(covered)/float64(intervals), 0.90, 4*math.Sqrt(0.9*0.1/1500))
}

// The gap shrinks by the same fraction each week: it takes weeks x log(gap / excess).
func TestArrival(t *testing.T) {
	const never = 183
	for _, tt := range []struct {
		name               string
		excess, gap, weeks float64
		want               int
	}{
		{"there", 0.1, 0.05, 8, 0},
		{"half of the gap is closed after 8 log 2 weeks, 38.8 days", 0.1, 0.2, 8, 39},
		{"levels off below", -0.01, 0.2, 8, never},
		{"falls from above to below", -0.01, -0.2, 8, 0},
		{"beyond the horizon", 0.001, 0.3, 8, never},
	} {
		if got := arrival(tt.excess, tt.gap, tt.weeks, never); got != tt.want {
			t.Errorf("%s: day %d, want %d", tt.name, got, tt.want)
		}
	}
}

// A recovery without doubt: 60 % of the other side, on the way to 100 % by a third of
// the rest every 4 weeks or so. The date is that of the curve.
func TestForecastOfAPlainRecovery(t *testing.T) {
	var observations []Observation
	const weeks, own = 5.0, 0.004
	index := func(week float64) float64 { return -0.5 * math.Exp(-week/weeks) }
	for visit := range 6 {
		observations = append(observations,
			Observation{Day: 7 * visit, Comparison: true, Log: math.Log(100), Own: own},
			Observation{Day: 7 * visit, Log: math.Log(100) + index(float64(visit)), Own: own})
	}
	par := plain()
	par.grid = []point{{scale: 1, day: 1, shape: shape{0.3, 0.3, weeks}}}
	o := of(observations, 1, []int{0}, par).Tests[0].Outlook
	want := 7 * (weeks*math.Log(-0.5/math.Log(0.9)) - 5) // days after the last visit
	near(t, "date", float64(o.Date), want, 3)
	near(t, "plateau", o.Plateau, 100, 1.5)
	if o.Earliest > o.Date || o.Latest < o.Date || o.Reach < 0.95 {
		t.Errorf("outlook %+v, want the date within its interval and reached almost surely", o)
	}
}

// A weaker comparison side makes nobody even: the index is 90 % now, and 72 % of what
// the comparison side had.
func TestAWeakerComparisonSideMakesNobodyEven(t *testing.T) {
	var observations []Observation
	for visit := range 6 {
		for test := range 2 {
			observations = append(observations,
				Observation{Day: 14 * visit, Test: test, Comparison: true, Log: math.Log(100) - 0.06*float64(visit), Own: 0.03},
				Observation{Day: 14 * visit, Test: test, Log: math.Log(74), Own: 0.03})
		}
	}
	c := Of(observations, 2, everyTest(2), protocol.Default())
	if now := c.Tests[0].Now(); now.Even < 0.3 {
		t.Errorf("probability of evenness against the present strength %.2f: the case shows nothing", now.Even)
	}
	if p := c.AllEven(); p > 0.05 {
		t.Errorf("probability that all are even %.3f, want next to none", p)
	}
}
