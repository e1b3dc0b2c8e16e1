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

// patient is an invented patient whose true strength is known. The shapes of the
// courses are assumptions.
type patient struct {
	world   World
	plateau [tests]float64 // of the involved side, as a fraction of the comparison side
	gap     float64        // to the plateau at the beginning, 0 for a stable patient
	weeks   float64        // in which the gap shrinks to a third
	loss    float64        // of the comparison side from the first to the last visit
}

// newPatient draws a patient: half are stable at 70-100 %, half rise exponentially
// from 45-70 % to a plateau of 80-108 %. The tests are about 3 % apart.
func newPatient(rng *rand.Rand, w World) *patient {
	p := &patient{world: w, weeks: 3 + 6*rng.Float64()}
	plateau := 0.70 + 0.30*rng.Float64()
	if rng.IntN(2) == 0 {
		plateau = 0.80 + 0.28*rng.Float64()
		p.gap = plateau - (0.45 + 0.25*rng.Float64())
	}
	for t := range tests {
		p.plateau[t] = plateau + 0.03*rng.NormFloat64()
	}
	if w == Weakening {
		p.loss = 0.05 + 0.15*rng.Float64()
	}
	return p
}

// involved is the involved side's true strength in each test at a visit, as a
// fraction of the comparison side's at the first one, which is four weeks in.
func (p *patient) involved(visit int) (strength [tests]float64) {
	_, days := p.world.visits()
	elapsed := 4 + float64(visit*days)/7
	for t := range tests {
		strength[t] = p.plateau[t] - p.gap*math.Exp(-elapsed/p.weeks)
	}
	return strength
}

// comparison is the comparison side's true strength at a visit.
func (p *patient) comparison(visit int) float64 {
	number, _ := p.world.visits()
	return 1 - p.loss*float64(visit)/float64(number-1)
}

// effort is the fraction of its strength that the comparison side shows at a visit. We
// assume that it begins at 0.9 and that half of what is missing comes with each visit.
func (p *patient) effort(visit int) float64 {
	if p.world != Learning {
		return 1
	}
	return 1 - 0.10*math.Pow(0.5, float64(visit))
}

// measure is a visit as it is recorded: all six tests of both sides, with full
// range and little pain.
func (p *patient) measure(rng *rand.Rand, visit int, sem float64) shoulder.Session {
	_, days := p.world.visits()
	s := shoulder.Session{
		When:   time.Date(2026, 1, 5+visit*days, 9, 0, 0, 0, time.UTC),
		Ranges: fullRange(),
		Pains:  littlePain(),
	}
	day, strength := p.world.dayErrors(rng, sem), p.involved(visit)
	own := p.world.ownSpread(sem)
	other := p.comparison(visit) * p.effort(visit)
	for t := range tests {
		test := shoulder.Trial{
			Rotation: shoulder.Trained[t/3], Position: shoulder.TrainedPositions[t%3], Support: shoulder.Supported,
			Contraction: shoulder.Make, Instrument: shoulder.Handheld,
		}
		test.Side = shoulder.Right
		s.Trials = appendTrials(s.Trials, rng, test, comparison*strength[t], day[involvedSide]+own*rng.NormFloat64())
		test.Side = shoulder.Left
		s.Trials = appendTrials(s.Trials, rng, test, comparison*other, day[otherSide]+own*rng.NormFloat64())
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
