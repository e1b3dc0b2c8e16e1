package measure

import (
	"math"
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Loss is a loss of strength of one side beyond measurement error.
type Loss struct {
	Fall             // the test that shows it most clearly
	Tests    int     // how many tests show it, alone or together
	Together float64 // mean fall of the tests in per cent if only all of them together show it, else 0
}

// LossOf finds a loss of strength of a side against an earlier session of the last weeks:
// of several tests, each beyond its error; of one by a large share; or of the mean of the
// tests of all motions or of one, which has less error than each of them. Only latest
// strengths that count are examined, of the trained motions or of the others.
//
// The latest strength is compared with each earlier session, so that a slow fall is found
// too. More comparisons make a false alarm more likely, so the detectable change is
// corrected for their number by Bonferroni's inequality (Dunn 1961, J Am Stat Assoc
// 56:52-64).
func LossOf(scores []Score, side shoulder.Side, trained bool, p *protocol.Protocol, counts func(*Score) bool) (Loss, bool) {
	h := HistoryOf(scores, side, trained, p)
	h.filter(func(f Fall) bool { return counts(f.Now) })
	for _, find := range [...]func(*History, *protocol.Protocol) (Loss, bool){
		(*History).severalFalls, (*History).largeFall, (*History).fallTogether,
	} {
		if loss, found := find(&h, p); found {
			return loss, true
		}
	}
	return Loss{}, false
}

// falseAlarm is the accepted probability of a false alarm of a rule about falls.
func falseAlarm(p *protocol.Protocol) float64 { return p.RedFlag.FalseAlarm.Float() / 100 }

// severalFalls finds several tests of which each fell beyond its error.
func (h *History) severalFalls(p *protocol.Protocol) (worst Loss, found bool) {
	z := OneSided(falseAlarm(p) / float64(max(h.Sessions, 1)))
	h.BySession(func(falls []Fall) {
		deepest, fell := countBeyond(falls, z)
		if p.RedFlag.Tests.Met(exact.Int(int64(fell))) && (!found || deepest.Percent() > worst.Percent()) {
			worst, found = Loss{Fall: deepest, Tests: max(worst.Tests, fell)}, true
		}
	})
	return worst, found
}

// countBeyond counts the motions and positions whose strength fell beyond z standard
// errors, and finds the one that fell most.
func countBeyond(falls []Fall, z float64) (deepest Fall, count int) {
	// By motion and position: a test under two conditions counts once.
	var seen [len(shoulder.Motions) + 1][len(shoulder.Positions) + 1]bool
	for _, x := range falls {
		if x.Errors() <= z {
			continue
		}
		if at := &seen[x.Now.Motion][x.Now.Position]; !*at {
			*at = true
			count++
		}
		if deepest.Now == nil || x.Percent() > deepest.Percent() {
			deepest = x
		}
	}
	return deepest, count
}

// largeFall is the deepest fall of a single test by a large share.
func (h *History) largeFall(p *protocol.Protocol) (worst Loss, found bool) {
	z := OneSided(falseAlarm(p) / float64(max(h.Sessions*h.Tests, 1)))
	for _, x := range h.Falls {
		if x.isLarge(z, p) && (!found || x.Percent() > worst.Percent()) {
			worst, found = Loss{Fall: x, Tests: 1}, true
		}
	}
	return worst, found
}

// isLarge reports whether a fall is more than so many standard errors, and by a large share.
func (f Fall) isLarge(z float64, p *protocol.Protocol) bool {
	return f.Errors() > z && p.RedFlag.LargeFall.Met(exact.Int(100).Sub(f.remaining()))
}

// remaining is the later strength in per cent of the earlier one.
func (f Fall) remaining() exact.Number {
	left, ok := f.Now.Value.Mul(exact.Int(100)).Quo(f.Then.Value)
	if !ok {
		return exact.Int(100)
	}
	return left
}

// fallTogether finds a fall of all tests together, or of those of one trained motion,
// because a cuff tear weakens one motion more. Each of these rules gets an equal part of
// the probability of a false alarm.
func (h *History) fallTogether(p *protocol.Protocol) (Loss, bool) {
	families := append([]shoulder.Motion{shoulder.MotionUnknown}, shoulder.Trained...)
	for _, motion := range families {
		of := h.ofMotion(motion)
		if of.Tests < 2 {
			continue
		}
		fall := of.JointFall(falseAlarm(p)/float64(len(families)), p.RedFlag.JointFall, p)
		if fall > 0 {
			return Loss{Fall: *deepest(of.Falls), Tests: of.Tests, Together: fall}, true
		}
	}
	return Loss{}, false
}

// ofMotion is the history of one motion; of all for MotionUnknown.
func (h *History) ofMotion(motion shoulder.Motion) History {
	if motion == shoulder.MotionUnknown {
		return *h
	}
	of := History{Falls: slices.Clone(h.Falls)}
	of.filter(func(f Fall) bool { return f.Now.Motion == motion })
	return of
}

// filter keeps the falls that count, and recounts tests and sessions.
func (h *History) filter(counts func(Fall) bool) {
	h.Falls = slices.DeleteFunc(h.Falls, func(f Fall) bool { return !counts(f) })
	h.Sessions = 0
	tests := make([]*Score, 0, 16)
	for i, f := range h.Falls {
		if i == 0 || f.Then.Session != h.Falls[i-1].Then.Session {
			h.Sessions++
		}
		if !slices.Contains(tests, f.Now) {
			tests = append(tests, f.Now)
		}
	}
	h.Tests = len(tests)
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

// JointFall is the mean fall in per cent of all tests together, 0 if it is within
// error or less than the least that counts: against one earlier session, and against
// the mean of all, which shows a smaller fall. Each of the two has half of the
// probability of a false alarm.
func (h *History) JointFall(alarm float64, least protocol.Threshold, p *protocol.Protocol) (percent float64) {
	if h.Sessions == 1 {
		percent = meanFall(h.Falls, OneSided(alarm), 1, p)
	} else {
		percent = meanFall(h.Falls, OneSided(alarm/2), h.Sessions, p)
		each := OneSided(alarm / 2 / float64(h.Sessions))
		h.BySession(func(falls []Fall) { percent = math.Max(percent, meanFall(falls, each, 1, p)) })
	}
	if percent < least.Value.Float64() {
		return 0
	}
	return percent
}

// meanFall is the mean fall in per cent against so many sessions, 0 if it is not
// beyond z standard errors.
func meanFall(falls []Fall, z float64, sessions int, p *protocol.Protocol) float64 {
	change, variance := 0.0, 0.0
	for _, f := range falls {
		c, v := f.relative()
		change += c / float64(len(falls))
		variance += v / 2 / float64(len(falls)) // of one score
	}
	tests := max(1, len(falls)/sessions)
	if change >= -z*jointError(variance*(1+1/float64(sessions)), tests, p) {
		return 0
	}
	return 100 * (1 - math.Exp(change))
}

// comparisonDeclined finds out whether the comparison side lost strength, so that
// an index looks better than the involved side is: all its tests together against
// an earlier session or against the mean of them, or one test by a large share.
func (d *doubtFinder) comparisonDeclined() {
	if d.e.ComparisonAffected {
		return
	}
	h := HistoryOf(d.scores, d.e.Involved.Other(), d.trained, d.p)
	h.filter(func(f Fall) bool { return !f.Now.Doubts.Block() })
	if len(h.Falls) == 0 {
		return
	}
	worst, fall := deepest(h.Falls), 0.0
	if large, found := h.largeFall(d.p); found {
		worst = &large.Fall
	} else if fall = h.JointFall(falseAlarm(d.p), d.p.Doubt.ComparisonFall, d.p); fall == 0 {
		return
	}
	worst.Now.Doubts.add(ComparisonDeclined)
	d.found = append(d.found, DoubtFound{
		Doubt: ComparisonDeclined, Session: worst.Now.Session, When: worst.Now.When, Score: worst.Now, Other: worst.Then,
		Apart: -1, Tests: h.Tests, Fall: math.Max(fall, worst.Percent()), Sources: Union(worst.Now.Sources, worst.Then.Sources),
	})
}
