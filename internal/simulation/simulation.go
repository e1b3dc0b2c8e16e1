// Package simulation tries the rules of the product on invented patients whose
// true strength is known: does the interval cover the truth, is the probability
// calibrated, how often does measurement error alone raise a red flag or a doubt,
// and how often is a shoulder declared ready that is not, or held back that is.
package simulation

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// Errors are the standard errors of measurement that are tried, in per cent:
// the published range for patients and a better one.
var Errors = []int{5, 7, 10, 14}

// Result is the outcome in one world at one measurement error.
type Result struct {
	World     World
	Error     int // SEM, per cent
	Patients  int
	Answers   int // one a visit
	Alarms    Alarms
	Decisions [rules]Decisions
	Intervals int
	Covered   int // of the intervals, those that contain the truth
	// Neutral counts predictions for ratios of which nothing is known
	// beforehand, Clinic those for the simulated patients, most of whom are
	// known to be weaker on the involved side.
	Neutral, Clinic Deciles
}

// Run simulates patients in a world at one measurement error, which the protocol
// assumes as it is. The same seed gives the same result.
func Run(seed uint64, patients int, w World, sem int) (*Result, error) {
	p, err := protocolFor(sem)
	if err != nil {
		return nil, err
	}
	r := &Result{World: w, Error: sem, Patients: patients}
	rng := rand.New(rand.NewPCG(seed, uint64(sem)<<8|uint64(w)))
	for range patients {
		r.follow(rng, p)
		if w == Independent {
			r.calibrate(rng, p)
		}
	}
	return r, nil
}

// protocolFor has the error that is simulated, and no floor below which the error
// does not fall, so that the error is the one assumed whatever the strength.
func protocolFor(sem int) (*protocol.Protocol, error) {
	return protocol.Load(fmt.Appendf(nil, `{"id":"simulation","error":{
		"stabilised":{"value":%[1]d,"source":"simulated"},"usual":{"value":%[1]d,"source":"simulated"},
		"unstabilised":{"value":%[1]d,"source":"simulated"},"floorForce":{"value":0,"source":"simulated"}}}`, sem))
}

// sem is the simulated error as a fraction.
func (r *Result) sem() float64 { return float64(r.Error) / 100 }

// follow takes one patient through all visits and counts the answer after each.
func (r *Result) follow(rng *rand.Rand, p *protocol.Protocol) {
	who := newPatient(rng, r.World)
	e := &shoulder.Episode{Involved: shoulder.Right}
	var declared [rules]bool // at some visit before
	visits, _ := r.World.visits()
	for v := range visits {
		e.Sessions = append(e.Sessions, who.measure(rng, v, r.sem()))
		m := measure.Measure(e, p)
		asOf := e.Sessions[v].When
		ready := readiness.Judge(e, m, redflag.Find(e, m, p, asOf), p, asOf)
		r.Answers++
		r.Alarms.count(ready)
		truth := who.involved(v)
		now := [rules]bool{SingleSession: allEvenToday(m, v, p), Product: ready.Overall == readiness.ReadyForFunctional}
		for rule := range rules {
			r.Decisions[rule].count(now[rule], !declared[rule], slices.Min(truth[:]))
			declared[rule] = declared[rule] || now[rule]
		}
		r.cover(m, v, truth, who.comparison(v))
	}
}

// cover counts the intervals and predictions of the indices of a visit.
func (r *Result) cover(m *measure.Measurements, visit int, truth [tests]float64, comparison float64) {
	for i := range m.Symmetries {
		s := &m.Symmetries[i]
		if s.Session != visit {
			continue
		}
		ratio := truth[3*(int(s.Rotation)-1)+int(s.Position-shoulder.AtSide)] / comparison
		r.Clinic.count(s.ProbabilityEven, ratio >= evenShare)
		r.Intervals++
		if s.Interval.Contains(100 * ratio) {
			r.Covered++
		}
	}
}

// drawsPerPatient is how many predictions for Neutral are drawn for each patient.
const drawsPerPatient = 30

// calibrate predicts evenness for a true ratio of which nothing is known
// beforehand, and counts the prediction: its logarithm is drawn evenly around
// the threshold, so that either side is as likely to be the stronger one.
func (r *Result) calibrate(rng *rand.Rand, p *protocol.Protocol) {
	const reach = 4.5 * math.Sqrt2 // standard deviations of the measured ratio
	own := r.World.ownSpread(r.sem())
	for range drawsPerPatient {
		ratio := evenShare * math.Exp(reach*r.sem()*(2*rng.Float64()-1))
		test := shoulder.Trial{Rotation: shoulder.External, Position: shoulder.AtSide, Side: shoulder.Right}
		trials := appendTrials(nil, rng, test, comparison*ratio, own*rng.NormFloat64())
		test.Side = shoulder.Left
		trials = appendTrials(trials, rng, test, comparison, own*rng.NormFloat64())
		e := &shoulder.Episode{Involved: shoulder.Right, Sessions: []shoulder.Session{{Trials: trials}}}
		s, _ := measure.Symmetries(e, measure.Scores(e, p), p)
		r.Neutral.count(s[0].ProbabilityEven, ratio >= evenShare)
	}
}

// Coverage is the share of intervals that contain the truth, in per cent.
func (r *Result) Coverage() float64 { return percent(r.Covered, r.Intervals) }

// Deciles counts predictions of evenness by tenths of their probability.
type Deciles [10]Bin

// Bin is a tenth of the predicted probabilities.
type Bin struct {
	Count int
	Sum   float64 // of the predictions
	True  int
}

// count adds a prediction to its tenth.
func (d *Deciles) count(prediction float64, happened bool) {
	bin := &d[min(9, int(prediction*10))]
	bin.Count++
	bin.Sum += prediction
	if happened {
		bin.True++
	}
}

// Deviation is how far a tenth's true share is from what was predicted, in
// percentage points.
func (b Bin) Deviation() float64 {
	if b.Count == 0 {
		return 0
	}
	return percent(b.True, b.Count) - 100*b.Sum/float64(b.Count)
}

func percent(part, whole int) float64 { return 100 * float64(part) / float64(max(whole, 1)) }
