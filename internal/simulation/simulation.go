// Package simulation tries the rules of the product on invented patients whose
// true strength is known: does the interval cover the truth, is the probability
// calibrated, and how often is a shoulder declared ready that is not, or held
// back that is.
package simulation

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

const (
	visits       = 6  // a fortnight apart
	fortnight    = 14 // days
	tests        = 6  // two rotations, three positions
	comparison   = 120
	evenShare    = 0.90
	seriousShare = 0.85
)

// Errors are the standard errors of measurement that are tried, in per cent:
// the published range for patients and a better one.
var Errors = []int{5, 7, 10, 14}

// Rule is a way to declare a shoulder ready.
type Rule uint8

// The rules.
const (
	SingleSession Rule = iota // all six indices are at least 90 today
	Consecutive               // each clear, or even in two sessions running
	Product                   // what the product does: consecutive, or all sessions together
	rules
)

// String names the rule.
func (r Rule) String() string {
	return [...]string{"single session, point estimate", "clear or two sessions running", "product: also all sessions together"}[r]
}

// Decisions counts what a rule decided about visits whose truth is known.
type Decisions struct {
	Declared, DeclaredWrongly, DeclaredSeriously int // of the declared, the truth below 90 and below 85
	Even, HeldBack                               int // of the truly even, those not declared
}

// Result is the outcome at one measurement error.
type Result struct {
	Error     int // SEM, per cent
	Patients  int
	Intervals int // number of intervals
	Covered   int // of them, those that contain the truth
	// Neutral files predictions for ratios of which nothing is known
	// beforehand, Clinic those for the simulated patients, most of whom are
	// known to be weaker on the involved side.
	Neutral, Clinic Deciles
	Decisions       [rules]Decisions
}

// Deciles files predictions of evenness by tenths of their probability.
type Deciles [10]Bin

// Bin is a tenth of the predicted probabilities.
type Bin struct {
	Count int
	Sum   float64 // of the predictions
	True  int
}

// Run simulates patients at one measurement error. The same seed gives the
// same result.
func Run(seed uint64, patients, sem int) (*Result, error) {
	p, err := protocolFor(sem)
	if err != nil {
		return nil, err
	}
	consecutive, err := protocolWithoutPooling(sem)
	if err != nil {
		return nil, err
	}
	r := &Result{Error: sem, Patients: patients}
	rng := rand.New(rand.NewPCG(seed, uint64(sem)))
	for range patients {
		truth := recovery(rng)
		e := &shoulder.Episode{Involved: shoulder.Right}
		for v := range visits {
			e.Sessions = append(e.Sessions, visit(rng, v, truth, float64(sem)/100))
			r.decide(e, p, consecutive, truth[v])
		}
		r.calibrate(rng, p, float64(sem)/100)
	}
	return r, nil
}

func protocolFor(sem int) (*protocol.Protocol, error) {
	return protocol.Load(fmt.Appendf(nil, `{"id":"simulation","error":{
		"stabilised":{"value":%[1]d,"source":"simulated"},"usual":{"value":%[1]d,"source":"simulated"},
		"unstabilised":{"value":%[1]d,"source":"simulated"}}}`, sem))
}

func protocolWithoutPooling(sem int) (*protocol.Protocol, error) {
	return protocol.Load(fmt.Appendf(nil, `{"id":"simulation","error":{
		"stabilised":{"value":%[1]d,"source":"simulated"},"usual":{"value":%[1]d,"source":"simulated"},
		"unstabilised":{"value":%[1]d,"source":"simulated"}},
		"symmetry":{"pooled":{"comparison":">","value":99,"source":"never, to compare with"}}}`, sem))
}

// recovery draws a patient's true ratios by visit and test: an exponential
// rise from 45-70 % to a plateau of 80-108 %, the positions 3 % apart. The
// shape is an assumption.
func recovery(rng *rand.Rand) (truth [visits][tests]float64) {
	start, plateau, weeks := 0.45+0.25*rng.Float64(), 0.80+0.28*rng.Float64(), 3+6*rng.Float64()
	for t := range tests {
		own := plateau + 0.03*rng.NormFloat64()
		for v := range visits {
			elapsed := float64(v*fortnight+2*fortnight) / 7 // the first visit is four weeks in
			truth[v][t] = own - (own-start)*math.Exp(-elapsed/weeks)
		}
	}
	return truth
}

func visit(rng *rand.Rand, v int, truth [visits][tests]float64, sem float64) shoulder.Session {
	s := shoulder.Session{When: time.Date(2026, 1, 5+v*fortnight, 9, 0, 0, 0, time.UTC)}
	for t := range tests {
		test := shoulder.Trial{
			Rotation: shoulder.Rotations[t/3], Position: shoulder.Positions[t%3], Support: shoulder.Supported,
			Contraction: shoulder.Make, Instrument: shoulder.Handheld,
		}
		s.Trials = append(s.Trials, reading(rng, test, shoulder.Right, comparison*truth[v][t], sem), reading(rng, test, shoulder.Left, comparison, sem))
	}
	for _, m := range []shoulder.Movement{shoulder.Flexion, shoulder.Abduction} {
		s.Ranges = append(s.Ranges, shoulder.Range{Movement: m, Side: shoulder.Right, Active: true, Degrees: exact.Int(175)})
	}
	return s
}

// reading is a measurement with a relative, normal error, to a hundredth of a
// newton as an instrument shows it.
func reading(rng *rand.Rand, test shoulder.Trial, side shoulder.Side, strength, sem float64) shoulder.Trial {
	newtons := math.Max(0.01, strength*(1+sem*rng.NormFloat64()))
	test.Side = side
	hundredths, _ := exact.Int(int64(math.Round(newtons * 100))).Quo(exact.Int(100))
	test.Value = hundredths
	return test
}

func (r *Result) decide(e *shoulder.Episode, p, consecutive *protocol.Protocol, truth [tests]float64) {
	m := measure.Measure(e, p)
	asOf := e.Sessions[len(e.Sessions)-1].When
	declared := [rules]bool{
		SingleSession: allEvenToday(m, len(e.Sessions)-1, p),
		Consecutive:   readiness.Judge(e, m, consecutive, asOf).Overall == readiness.ReadyForFunctional,
		Product:       readiness.Judge(e, m, p, asOf).Overall == readiness.ReadyForFunctional,
	}
	lowest := slices.Min(truth[:])
	for rule, yes := range declared {
		r.Decisions[rule].count(yes, lowest)
	}
	for i := range m.Symmetries {
		s := &m.Symmetries[i]
		if s.Session != len(e.Sessions)-1 {
			continue
		}
		ratio := truth[3*(int(s.Rotation)-1)+s.Position.Index()]
		r.Clinic.file(s.ProbabilityEven, ratio >= evenShare)
		r.Intervals++
		if s.Interval.Contains(100 * ratio) {
			r.Covered++
		}
	}
}

func allEvenToday(m *measure.Measurements, session int, p *protocol.Protocol) bool {
	even := 0
	for i := range m.Symmetries {
		if m.Symmetries[i].Session == session && p.Symmetry.Even.Met(m.Symmetries[i].Index) {
			even++
		}
	}
	return even == tests
}

func (d *Decisions) count(declared bool, lowest float64) {
	even := lowest >= evenShare
	if even {
		d.Even++
		if !declared {
			d.HeldBack++
		}
	}
	if declared {
		d.Declared++
		if !even {
			d.DeclaredWrongly++
		}
		if lowest < seriousShare {
			d.DeclaredSeriously++
		}
	}
}

// drawsPerPatient is how many predictions are filed beside each patient.
const drawsPerPatient = 30

// calibrate predicts evenness for a true ratio of which nothing is known
// beforehand, and files the prediction: its logarithm is drawn evenly around
// the threshold, so that either side is as likely to be the stronger one.
func (r *Result) calibrate(rng *rand.Rand, p *protocol.Protocol, sem float64) {
	const reach = 4.5 * math.Sqrt2 // standard deviations of the measured ratio
	for range drawsPerPatient {
		ratio := evenShare * math.Exp(reach*sem*(2*rng.Float64()-1))
		test := shoulder.Trial{Rotation: shoulder.External, Position: shoulder.AtSide}
		e := &shoulder.Episode{Involved: shoulder.Right, Sessions: []shoulder.Session{{Trials: []shoulder.Trial{
			reading(rng, test, shoulder.Right, comparison*ratio, sem), reading(rng, test, shoulder.Left, comparison, sem),
		}}}}
		s, _ := measure.Symmetries(e, measure.Scores(e, p), p)
		r.Neutral.file(s[0].ProbabilityEven, ratio >= evenShare)
	}
}

// file puts a prediction into its tenth.
func (d *Deciles) file(prediction float64, happened bool) {
	bin := &d[min(9, int(prediction*10))]
	bin.Count++
	bin.Sum += prediction
	if happened {
		bin.True++
	}
}

// Coverage is the share of intervals that contain the truth, in per cent.
func (r *Result) Coverage() float64 { return percent(r.Covered, r.Intervals) }

// Deviation is how far a tenth's true share is from what was predicted, in
// percentage points.
func (b Bin) Deviation() float64 {
	if b.Count == 0 {
		return 0
	}
	return percent(b.True, b.Count) - 100*b.Sum/float64(b.Count)
}

func percent(part, whole int) float64 { return 100 * float64(part) / float64(max(whole, 1)) }
