package simulation

import (
	"math"
	"math/rand/v2"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

const (
	tests      = 6     // two rotations, three positions
	comparison = 120.0 // N, the comparison side's true strength at the first visit
)

// Family is a set of shapes of recovery. What the model assumes was chosen on one
// family, and is judged on the other.
type Family uint8

// The families.
const (
	Judging Family = iota // exponential, linear up to the plateau, in two phases
	Tuning                // Gompertz's curve and a hyperbola
)

// String names the shapes of the family.
func (f Family) String() string {
	return [...]string{"exponential, linear up to the plateau, or in two phases with a rest between them", "Gompertz's curve or a hyperbola"}[f]
}

// shape is how much of a recovery is done, from 0 to 1, at a time in units of its
// length.
type shape func(t float64) float64

var shapes = [...][]shape{
	Judging: {
		func(t float64) float64 { return 1 - math.Exp(-t) },
		func(t float64) float64 { return math.Min(t/2.5, 1) },
		func(t float64) float64 { return 0.5*math.Min(t/0.8, 1) + 0.5*(1-math.Exp(-math.Max(t-1.2, 0))) },
	},
	Tuning: {
		func(t float64) float64 { return math.Exp(-3 * math.Exp(-1.4*t)) },
		func(t float64) float64 { return t / (t + 0.7) },
	},
}

// patient is an invented patient whose true strength is known. The shapes of the
// courses are assumptions.
type patient struct {
	world   *World
	shape   shape
	plateau [tests]float64 // of the involved side, as a fraction of the comparison side
	gap     float64        // to the plateau at the beginning, 0 for a stable patient
	weeks   float64        // length of the recovery
	before  float64        // weeks of recovery before the first visit
	loss    float64        // of the comparison side from the first to the last visit
	setback float64        // of the involved side, half way
}

// newPatient draws a patient of the cast.
func newPatient(rng *rand.Rand, w *World, f Family) *patient {
	p := &patient{world: w, weeks: 3 + 7*rng.Float64(), before: 4 * rng.Float64()}
	p.shape = shapes[f][rng.IntN(len(shapes[f]))]
	cast := w.Cast
	if cast == Mixed {
		cast = [...]Cast{Stable, Becoming, Short}[rng.IntN(3)]
	}
	plateau, most := 0.0, math.Inf(1)
	switch cast {
	case Stable:
		plateau = 0.70 + 0.34*rng.Float64()
	case Becoming:
		plateau = 0.95 + 0.13*rng.Float64()
	case Short:
		plateau, most = 0.78+0.10*rng.Float64(), 0.89
	}
	if cast != Stable {
		p.gap = plateau - (0.45 + 0.25*rng.Float64())
	}
	for t := range tests {
		p.plateau[t] = math.Min(plateau+0.03*rng.NormFloat64(), most)
	}
	if w.Weakening {
		p.loss = 0.05 + 0.15*rng.Float64()
	}
	if w.Setback {
		p.setback = 0.10 + 0.10*rng.Float64()
	}
	return p
}

// involved is the involved side's true strength in each test some weeks after the
// first visit, as a fraction of the comparison side's at the first one.
func (p *patient) involved(weeks float64) (strength [tests]float64) {
	kept := 1.0
	if half := float64((p.world.Visits/2)*p.world.Days) / 7; p.world.Setback && weeks >= half {
		kept = 1 - p.setback
	}
	left := 1 - p.shape((weeks+p.before)/p.weeks)
	for t := range tests {
		strength[t] = kept * (p.plateau[t] - p.gap*left)
	}
	return strength
}

// at is how many weeks after the first one a visit is.
func (p *patient) at(visit int) float64 { return float64(visit*p.world.Days) / 7 }

// evenFrom is how many days after a visit each test, and all of them, are truly even
// for the first time; beyond is more than the horizon of any forecast.
func (p *patient) evenFrom(visit int) (each [tests]int, all int) {
	for t := range each {
		each[t] = beyond
	}
	for day := range beyond {
		strength := p.involved(p.at(visit) + float64(day)/7)
		missing := 0
		for t := range tests {
			if each[t] == beyond && strength[t] >= evenShare {
				each[t] = day
			}
			if each[t] == beyond {
				missing++
			}
		}
		if missing == 0 {
			return each, day
		}
	}
	return each, beyond
}

const beyond = 3 * 365 // days

// comparison is the comparison side's true strength at a visit.
func (p *patient) comparison(visit int) float64 {
	return 1 - p.loss*float64(visit)/float64(p.world.Visits-1)
}

// effort is the fraction of its strength that the comparison side shows at a visit. We
// assume that it begins at 0.9 and that half of what is missing comes with each visit.
func (p *patient) effort(visit int) float64 {
	if !p.world.Learning {
		return 1
	}
	return 1 - 0.10*math.Pow(0.5, float64(visit))
}

func visitDay(w *World, visit int) time.Time {
	return time.Date(2026, 1, 5+visit*w.Days, 9, 0, 0, 0, time.UTC)
}

// measure is a visit as it is recorded: all six tests of both sides, with full
// range and little pain.
func (p *patient) measure(rng *rand.Rand, visit int, sem float64) shoulder.Session {
	s := shoulder.Session{
		When:   visitDay(p.world, visit),
		Ranges: fullRange(),
		Pains:  littlePain(),
	}
	day, strength := p.world.dayErrors(rng, sem), p.involved(p.at(visit))
	own := p.world.ownSpread(sem)
	other := p.comparison(visit) * p.effort(visit)
	for t := range tests {
		test := shoulder.Trial{
			Motion: shoulder.Trained[t/3], Position: shoulder.TrainedPositions[t%3], Support: shoulder.Supported,
			Contraction: shoulder.Make, Instrument: shoulder.Handheld,
		}
		test.Side = shoulder.Right
		s.Trials = appendTrials(s.Trials, rng, test, comparison*strength[t], day[involvedSide]+own*rng.NormFloat64())
		if visit%p.world.CompareEvery == 0 {
			test.Side = shoulder.Left
			s.Trials = appendTrials(s.Trials, rng, test, comparison*other, day[otherSide]+own*rng.NormFloat64())
		}
	}
	return s
}

// appendTrials adds the trials of one test, whose mean is off by a fraction of the
// strength, to a hundredth of a newton as an instrument shows it.
func appendTrials(trials []shoulder.Trial, rng *rand.Rand, test shoulder.Trial, strength, off float64) []shoulder.Trial {
	for range trialsPerTest {
		newtons := math.Max(0.01, strength*(1+off+trialSpread*rng.NormFloat64()))
		test.Value, _ = exact.Int(int64(math.Round(newtons * 100))).Quo(exact.Int(100))
		trials = append(trials, test)
	}
	return trials
}

func fullRange() (ranges []shoulder.Range) {
	for _, m := range []shoulder.Movement{shoulder.Flexion, shoulder.Abduction} {
		ranges = append(ranges, shoulder.Range{Movement: m, Side: shoulder.Right, Active: true, Degrees: exact.Int(175)})
	}
	return ranges
}

func littlePain() []shoulder.Pain {
	return []shoulder.Pain{
		{Context: shoulder.PainAtRest, Score: exact.Int(1)},
		{Context: shoulder.PainDuringResistedTest, Score: exact.Int(1)},
		{Context: shoulder.PainWorst24h, Score: exact.Int(2)},
	}
}
