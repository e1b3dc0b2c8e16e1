package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// OneSided is the standard normal quantile that is exceeded with a probability.
func OneSided(probability float64) float64 { return distuv.UnitNormal.Quantile(1 - probability) }

// Fall is a strength of one side against an earlier one of the same test.
type Fall struct{ Now, Then *Score }

// Percent is the fall in per cent of the earlier strength, below 0 for a rise.
func (f Fall) Percent() float64 {
	then := f.Then.Value.Float64()
	if then <= 0 {
		return 0
	}
	return 100 * (then - f.Now.Value.Float64()) / then
}

// Errors is the fall as a multiple of its standard error. The error is taken at
// the mean of both strengths, as for the minimal detectable change, and without
// the widening for pain.
func (f Fall) Errors() float64 {
	now, then := f.Now.Value.Float64(), f.Then.Value.Float64()
	mean := (now + then) / 2
	sem := math.Hypot(f.Now.Error.SteadyAt(mean), f.Then.Error.SteadyAt(mean))
	switch {
	case then == now:
		return 0
	case sem == 0:
		return math.Copysign(math.Inf(1), then-now)
	}
	return (then - now) / sem
}

// relative is the change as a fraction of the mean of both, and its variance.
func (f Fall) relative() (change, variance float64) {
	now, then := f.Now.Value.Float64(), f.Then.Value.Float64()
	mean := (now + then) / 2
	if mean <= 0 {
		return 0, 1
	}
	a, b := f.Now.Error.SteadyAt(mean)/mean, f.Then.Error.SteadyAt(mean)/mean
	return (now - then) / mean, a*a + b*b
}

// History holds the latest strength of every test of one side against the earlier
// ones of the last weeks.
type History struct {
	Falls []Fall // by the session of the earlier strength
	// Tests is how many tests have an earlier strength, Sessions how many sessions
	// they are compared with. Their product is the number of comparisons, for which
	// a detectable change is corrected.
	Tests, Sessions int
}

// longestHistory bounds the sessions that are looked back at. Common practice: no
// one measures strength more often in twelve weeks.
const longestHistory = 60

// HistoryOf looks back from the latest strength of each test of a side. A strength
// that is in doubt is held against earlier ones, lest a slip of the pen hide a
// loss; it is no yardstick for later ones.
//
// It is that of the trained motions, or of the others: the more tests, the larger is
// the detectable change, so that together one could hide a loss of the other.
func HistoryOf(scores []Score, side shoulder.Side, trained bool, p *protocol.Protocol) History {
	own := slices.DeleteFunc(sideOf(scores, side), func(s *Score) bool { return s.Rotation.Trained() != trained })
	latest := latestOfTests(own)
	var h History
	var sessions []int
	compared := make([]bool, len(latest))
	for _, then := range slices.Backward(own) {
		at := indexOfTest(latest, then)
		now := latest[at]
		if then.Session == now.Session || !then.believed() {
			continue
		}
		age := exact.Int(int64(DaysBetween(then.When, now.When)))
		if compared[at] && !p.RedFlag.Window.Met(age) {
			continue // the session before counts however long ago it was
		}
		if len(sessions) == 0 || sessions[len(sessions)-1] != then.Session {
			if len(sessions) == longestHistory {
				break
			}
			sessions = append(sessions, then.Session)
		}
		if !compared[at] {
			compared[at] = true
			h.Tests++
		}
		h.Falls = append(h.Falls, Fall{now, then})
	}
	slices.Reverse(h.Falls)
	h.Sessions = len(sessions)
	return h
}

// EarlierBest is the best earlier strength of the test of a latest score, if that is
// more; else nil.
func (h *History) EarlierBest(now *Score) (best *Score) {
	for _, f := range h.Falls {
		if f.Now == now && f.Then.Value.Cmp(now.Value) > 0 && (best == nil || f.Then.Value.Cmp(best.Value) > 0) {
			best = f.Then
		}
	}
	return best
}

// Against is the index as it would be if the comparison side had another strength,
// of the same dimension as its present score; false for one of zero.
func (s *Symmetry) Against(comparison exact.Number) (exact.Number, bool) {
	return s.Index.Mul(s.Comparison.Value).Quo(comparison)
}

// latestOfTests is the latest score of each test.
func latestOfTests(scores []*Score) (latest []*Score) {
	for _, s := range slices.Backward(scores) {
		if indexOfTest(latest, s) < 0 {
			latest = append(latest, s)
		}
	}
	return latest
}

// indexOfTest is the first score of the same test, or -1.
func indexOfTest(scores []*Score, like *Score) int {
	test := like.test()
	return slices.IndexFunc(scores, func(s *Score) bool { return s.test() == test })
}

// BySession calls found with the falls against each earlier session.
func (h *History) BySession(found func(falls []Fall)) {
	for rest := h.Falls; len(rest) > 0; {
		n := 1
		for n < len(rest) && rest[n].Then.Session == rest[0].Then.Session {
			n++
		}
		found(rest[:n])
		rest = rest[n:]
	}
}

// comparisonDeclined finds out whether the comparison side lost strength, so that
// an index looks better than the involved side is: all its tests together against
// an earlier session or against the mean of them, or one test by a large share.
func (d *doubter) comparisonDeclined() {
	if d.e.ComparisonAffected {
		return
	}
	h := HistoryOf(d.scores, d.e.Involved.Other(), d.trained, d.p)
	h.Falls = slices.DeleteFunc(h.Falls, func(f Fall) bool { return f.Now.Doubts.Block() })
	if len(h.Falls) == 0 {
		return
	}
	worst, fall := d.largestFall(&h), 0.0
	if worst == nil {
		if fall = d.jointFall(&h); fall == 0 {
			return
		}
		worst = deepest(h.Falls)
	}
	worst.Now.Doubts.add(ComparisonDeclined)
	d.found = append(d.found, DoubtFound{
		Doubt: ComparisonDeclined, Session: worst.Now.Session, When: worst.Now.When, Score: worst.Now, Other: worst.Then,
		Apart: -1, Tests: h.Tests, Fall: math.Max(fall, worst.Percent()), Sources: Union(worst.Now.Sources, worst.Then.Sources),
	})
}

// largestFall is a fall of a single test by a large share and beyond error.
func (d *doubter) largestFall(h *History) *Fall {
	z := OneSided(d.p.RedFlag.FalseAlarm.Float() / 100 / float64(h.Tests*h.Sessions))
	large := d.p.RedFlag.LargeFall.Value.Float64()
	for i := range h.Falls {
		if f := &h.Falls[i]; f.Percent() >= large && f.Errors() > z {
			return f
		}
	}
	return nil
}

// deepest is the fall by the largest share.
func deepest(falls []Fall) *Fall {
	deepest := &falls[0]
	for i := range falls {
		if falls[i].Percent() > deepest.Percent() {
			deepest = &falls[i]
		}
	}
	return deepest
}

// jointFall is the mean fall in per cent of all tests together, 0 if it is within
// error: against one earlier session, and against the mean of all, which shows a
// smaller fall. Each of the two has half of the false alarms.
func (d *doubter) jointFall(h *History) float64 {
	alarm := d.p.RedFlag.FalseAlarm.Float() / 100
	if h.Sessions == 1 {
		return d.meanFall(h.Falls, OneSided(alarm), 1)
	}
	fall := d.meanFall(h.Falls, OneSided(alarm/2), h.Sessions)
	each := OneSided(alarm / 2 / float64(h.Sessions))
	h.BySession(func(falls []Fall) { fall = math.Max(fall, d.meanFall(falls, each, 1)) })
	return fall
}

// meanFall is the mean fall in per cent against so many sessions, 0 if it is less
// than the protocol asks for or not beyond z standard errors.
func (d *doubter) meanFall(falls []Fall, z float64, sessions int) float64 {
	change, variance := 0.0, 0.0
	for _, f := range falls {
		c, v := f.relative()
		change += c / float64(len(falls))
		variance += v / 2 / float64(len(falls)) // of one score
	}
	tests := max(1, len(falls)/sessions)
	sem := d.jointError(variance*(1+1/float64(sessions)), tests)
	percent := 100 * (1 - math.Exp(change))
	if change >= -z*sem || percent < d.p.Doubt.ComparisonFall.Value.Float64() {
		return 0
	}
	return percent
}
