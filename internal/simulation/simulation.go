// Package simulation tries the rules of the product on invented patients whose
// true strength is known: do the intervals cover the truth, are the probabilities
// calibrated, how often does measurement error alone raise a red flag, a doubt or a
// decline, how good are the forecasts, and how often is a shoulder declared ready
// that is not, or held back that is.
package simulation

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"slices"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// Result is the outcome in one world at one measurement error.
type Result struct {
	World     *World
	Error     int // SEM that the protocol assumes, per cent
	Patients  int
	Answers   int // one a visit
	Alarms    Alarms
	Decisions [rules]Decisions
	// Single and Whole are the intervals of the index: Fieller's of one session, and
	// the model's of all.
	Single, Whole Coverage
	Calibration   Calibration
	Declines      Declines
	Forecasts     Forecasts
}

// Run simulates patients in a world at one assumed measurement error. The same seed
// gives the same result.
func Run(seed uint64, patients int, w *World, family Family, sem int) (*Result, error) {
	p, err := protocolFor(sem)
	if err != nil {
		return nil, err
	}
	r := &Result{World: w, Error: sem, Patients: patients}
	rng := rand.New(rand.NewPCG(seed, uint64(sem)<<32^hash(w.Name)))
	for range patients {
		r.follow(rng, family, p)
	}
	return r, nil
}

// hash makes a stream of random numbers of its own of each world.
func hash(name string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(name))
	return h.Sum64()
}

// protocolFor assumes an error, and no floor below which the error does not fall, so
// that the error is the one assumed whatever the strength.
func protocolFor(sem int) (*protocol.Protocol, error) {
	return protocol.Load(fmt.Appendf(nil, `{"id":"simulation","error":{
		"stabilised":{"value":%[1]d,"source":"simulated"},"usual":{"value":%[1]d,"source":"simulated"},
		"unstabilised":{"value":%[1]d,"source":"simulated"},"floorForce":{"value":0,"source":"simulated"}}}`, sem))
}

// sem is the true error as a fraction.
func (r *Result) sem() float64 {
	if r.World.TrueError != 0 {
		return float64(r.World.TrueError) / 100
	}
	return float64(r.Error) / 100
}

// follow takes one patient through all visits and counts the answer after each.
func (r *Result) follow(rng *rand.Rand, family Family, p *protocol.Protocol) {
	who := newPatient(rng, r.World, family)
	e := &shoulder.Episode{Involved: shoulder.Right}
	h := newHistory()
	for v := range r.World.Visits {
		e.Sessions = append(e.Sessions, who.measure(rng, v, r.sem()))
		asOf := e.Sessions[v].When
		a := answer{visit: v, m: measure.Measure(e, p)}
		c := course.Episode(e, a.m, p)
		a.ready = readiness.Judge(e, a.m, c, redflag.Find(e, a.m, p, asOf), p, asOf)
		if reaches(c, v, r.World) {
			a.c, a.allEven = c, c.AllEven()
			a.fell = declinedBetweenSessions(a.m, measure.Declined, measure.PossiblyDeclined)
			c.Call(a.m, e.Involved, p)
		}
		r.Answers++
		r.Alarms.count(a.ready)
		truth := who.involved(who.at(v))
		h.count(r, a.verdicts(p, h.today), slices.Min(truth[:]), v)
		r.coverSessions(a.m, v, truth, who.comparison(v))
		if a.c != nil {
			r.cover(&a, truth, who.comparison(v))
			r.Declines.count(&a, p)
			r.Forecasts.count(&a, who, p)
		}
	}
	h.close(r)
}

// history is what the rules said of a patient so far.
type history struct {
	today    bool // at the visit before, all six were at least 90
	declared [rules]bool
	at       [rules]int // visit of the first declaration at or after evenness
	even     int        // the first visit at which all tests are truly even
}

const never = -1

func newHistory() *history {
	h := &history{even: never}
	for rule := range h.at {
		h.at[rule] = never
	}
	return h
}

func (h *history) count(r *Result, now [rules]bool, lowest float64, visit int) {
	if h.even == never && lowest >= evenShare {
		h.even = visit
	}
	for rule := range rules {
		r.Decisions[rule].count(now[rule], !h.declared[rule], lowest)
		h.declared[rule] = h.declared[rule] || now[rule]
		if now[rule] && h.even != never && h.at[rule] == never {
			h.at[rule] = visit
		}
	}
	h.today = now[SingleSession]
}

func (h *history) close(r *Result) {
	for rule := range rules {
		if h.at[rule] != never {
			r.Decisions[rule].Late++
			r.Decisions[rule].DaysLate += (h.at[rule] - h.even) * r.World.Days
		}
	}
}

// testOf is the number of a test.
func testOf(s measure.Setting) int { return 3*(int(s.Motion)-1) + int(s.Position-shoulder.AtSide) }

// reaches reports whether the course goes up to a visit, which it does unless the
// visit is in doubt.
func reaches(c *course.Course, visit int, w *World) bool {
	return c != nil && measure.DaysBetween(c.Start, visitDay(w, visit)) == c.Days[len(c.Days)-1]
}

// coverSessions counts the intervals and predictions of the indices of a visit.
func (r *Result) coverSessions(m *measure.Measurements, visit int, truth [tests]float64, comparison float64) {
	for i := range m.Symmetries {
		s := &m.Symmetries[i]
		if s.Session != visit {
			continue
		}
		ratio := truth[testOf(s.Setting)] / comparison
		r.Single.count(s.Interval.Contains(100 * ratio))
		r.Calibration.Single.count(s.ProbabilityEven, ratio >= evenShare)
	}
}

// cover does so with those of the model.
func (r *Result) cover(a *answer, truth [tests]float64, comparison float64) {
	for i := range a.c.Tests {
		t := &a.c.Tests[i]
		now, ratio := t.Now(), truth[testOf(t.Setting)]/comparison
		r.Whole.count(now.Low <= 100*ratio && 100*ratio <= now.High)
		r.Calibration.Whole.count(now.Even, ratio >= evenShare)
	}
	r.Calibration.All.count(a.allEven, slices.Min(truth[:]) >= evenShare)
}

// Coverage counts intervals that contain the truth.
type Coverage struct{ All, Contain int }

func (c *Coverage) count(contains bool) {
	c.All++
	if contains {
		c.Contain++
	}
}

// Percent is the share of those that contain it.
func (c Coverage) Percent() float64 { return percent(c.Contain, c.All) }

// Calibration counts predictions of evenness: of one test by one session and by all,
// and of all tests together.
type Calibration struct{ Single, Whole, All Deciles }

// Deciles counts predictions of evenness by tenths of their probability.
type Deciles struct {
	Bins  [10]Bin
	Score float64 // sum of the squared errors
}

// Bin is a tenth of the predicted probabilities.
type Bin struct {
	Count int
	Sum   float64 // of the predictions
	True  int
}

// count adds a prediction to its tenth.
func (d *Deciles) count(prediction float64, happened bool) {
	bin := &d.Bins[min(9, int(prediction*10))]
	bin.Count++
	bin.Sum += prediction
	truth := 0.0
	if happened {
		bin.True++
		truth = 1
	}
	d.Score += (prediction - truth) * (prediction - truth)
}

// Brier is the mean of the squared errors.
//
// Source: Brier 1950, Mon Weather Rev 78:1-3.
func (d *Deciles) Brier() float64 {
	n := 0
	for _, b := range d.Bins {
		n += b.Count
	}
	return d.Score / float64(max(n, 1))
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
