package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// OneSided is the standard normal quantile that is exceeded with the given probability.
func OneSided(probability float64) float64 { return distuv.UnitNormal.Quantile(1 - probability) }

// Fall compares a strength of one side with an earlier one of the same test.
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

// History compares the latest strength of every test of one side with the earlier ones of
// the last weeks.
type History struct {
	Falls []Fall // in the order of the sessions of the earlier strengths
	// Tests is how many tests have an earlier strength, Sessions how many sessions
	// they are compared with. Their product is the number of comparisons, for which
	// a detectable change is corrected.
	Tests, Sessions int
}

// longestHistory bounds the sessions that are looked back at. Common practice: no
// one measures strength more often in twelve weeks.
const longestHistory = 60

// HistoryOf compares the latest strength of each test of a side with the earlier ones. A
// latest strength in doubt is compared too, so that a mistyped number does not hide a
// loss. An earlier one in doubt is not compared with.
//
// A break test that came after the last make test is compared with the make tests: it
// gives higher values, so that a lower one means a loss at least as large.
//
// It is about the trained motions only, or about the others only: more tests make the
// detectable change larger, so that one group could hide a loss of the other.
func HistoryOf(scores []Score, side shoulder.Side, trained bool, p *protocol.Protocol) History {
	own := slices.DeleteFunc(sideOf(scores, side), func(s *Score) bool { return s.Motion.Trained() != trained })
	h := historyBuilder{p: p, latest: latestOfTests(own), falls: make([]Fall, 0, len(own))}
	h.compared = make([]bool, len(h.latest))
	for _, then := range slices.Backward(own) {
		if !then.believed() {
			continue
		}
		if !h.knows(then.Session) {
			if len(h.sessions) == longestHistory {
				break
			}
			h.sessions = append(h.sessions, then.Session)
		}
		same := indexOfTest(h.latest, then)
		h.add(same, then)
		if broken := h.breakTestSince(h.latest[same], then); broken >= 0 {
			h.add(broken, then)
		}
	}
	slices.Reverse(h.falls)
	of := History{Falls: h.falls}
	of.filter(func(Fall) bool { return true })
	return of
}

// historyBuilder builds the History of a side.
type historyBuilder struct {
	p        *protocol.Protocol
	latest   []*Score
	compared []bool // by latest
	sessions []int  // that were compared with, the latest first
	falls    []Fall
}

func (h *historyBuilder) knows(session int) bool {
	return len(h.sessions) > 0 && h.sessions[len(h.sessions)-1] == session
}

// add compares a latest strength with an earlier one of the last weeks, or of the session
// before, however long ago that was.
func (h *historyBuilder) add(at int, then *Score) {
	now := h.latest[at]
	if then.Session == now.Session {
		return
	}
	age := exact.Int(int64(DaysBetween(then.When, now.When)))
	if !h.compared[at] || h.p.RedFlag.Window.Met(age) {
		h.compared[at] = true
		h.falls = append(h.falls, Fall{now, then})
	}
}

// breakTestSince is the latest break test like a make test that came after the last make
// test, -1 if there is none.
func (h *historyBuilder) breakTestSince(last, then *Score) int {
	return slices.IndexFunc(h.latest, func(now *Score) bool { return now.Session > last.Session && isBreakAfterMake(now, then) })
}

// isBreakAfterMake reports whether the later score is of a break test and the earlier one
// of a make test, and they differ in nothing else.
func isBreakAfterMake(now, then *Score) bool {
	made := now.test()
	made.Contraction = shoulder.Make
	return now.Contraction == shoulder.Break && then.test() == made
}

// Comparable reports whether a strength that is lower than an earlier one is a loss:
// of the same test, or of a break test after a make test.
//
// Source: Shah et al. 2020, Clin Biomech 80:105189 (external rotation, break 46.9 %
// above make).
func Comparable(now, then *Score) bool {
	return now.test() == then.test() || isBreakAfterMake(now, then)
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

// Against is the index that another strength of the comparison side would give, of the
// same dimension as its present score; false for a strength of zero.
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
