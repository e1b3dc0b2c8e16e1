package measure

import (
	"time"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// SlowLossOf finds a loss of strength of a side at however slow a pace: the latest strength of
// a test is less than the best since a time by the share of a large fall, and beyond the error
// of so many comparisons. A fall of the last weeks is LossOf's.
func SlowLossOf(scores []Score, side shoulder.Side, trained bool, since time.Time, p *protocol.Protocol, counts func(*Score) bool) (worst Loss, found bool) {
	var own []*Score
	sessions, last, tests := 0, -1, 0
	for _, s := range sideOf(scores, side) {
		if s.Motion.Trained() != trained || DaysBetween(since, s.When) < 0 {
			continue
		}
		own = append(own, s)
		if s.Session != last {
			sessions, last = sessions+1, s.Session
		}
	}
	latest := latestOfTests(own)
	z := OneSided(falseAlarm(p) / float64(max(sessions*len(latest), 1)))
	for _, now := range latest {
		best := bestBefore(own, now)
		if best == nil || !counts(now) {
			continue
		}
		x := Fall{Now: now, Then: best}
		if !x.isLarge(z, p) {
			continue
		}
		tests++
		if !found || x.Percent() > worst.Percent() {
			worst, found = Loss{Fall: x}, true
		}
	}
	worst.Tests = tests
	return worst, found
}

// bestBefore is the best earlier strength that another can be held against, nil if there is
// none.
func bestBefore(own []*Score, now *Score) (best *Score) {
	for _, s := range own {
		if s.Session < now.Session && s.believed() && Comparable(now, s) && (best == nil || s.Value.Cmp(best.Value) > 0) {
			best = s
		}
	}
	return best
}

// LessTogether reports whether the tests of a side that were measured in the sessions of two
// strengths, of the motions with steps or of the others, are less in the later one by a real
// change of all of them together.
func LessTogether(scores []Score, then, now *Score, p *protocol.Protocol) bool {
	own := sideOf(scores, now.Side)
	var falls []Fall
	for _, x := range own {
		if x.Session != now.Session || x.Motion.Trained() != now.Motion.Trained() || x.Doubts.Block() {
			continue
		}
		for _, y := range own {
			if y.Session == then.Session && y.believed() && Comparable(x, y) {
				falls = append(falls, Fall{Now: x, Then: y})
				break
			}
		}
	}
	return len(falls) > 1 && meanFall(falls, Detectable(p), 1, p) > 0
}
