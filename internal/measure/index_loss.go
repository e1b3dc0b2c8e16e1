package measure

import (
	"cmp"
	"math"
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// IndexLoss is a fall of the index between two ways of testing, of which strengths cannot be
// compared. Both sides of each session were tested alike, so that the index does not depend
// on the instrument or the support as the strengths do.
type IndexLoss struct {
	Then, Now *Symmetry // the test that fell most
	Latest    *Symmetry // of the same test
	Tests     int       // how many were compared
	Together  float64   // mean fall in per cent, 0 if one test shows it by itself
}

// LossOfIndex finds the earliest such loss that the latest session does not show regained.
// The index is compared with the last one before the way of testing changed, if that was
// within the weeks in which a loss counts as sudden; the limits are those of a fall of
// strength.
func (m *Measurements) LossOfIndex(trained bool, p *protocol.Protocol) (IndexLoss, bool) {
	tests := m.changedTests(trained, p)
	for _, session := range sessionsSince(tests) {
		falls := fallsAt(tests, session)
		loss, found := lossOfIndex(falls, p)
		if !found {
			continue
		}
		if mean, sem := meanIndexFall(latestFalls(tests), p); mean > Detectable(p)*sem {
			return loss, true
		}
	}
	return IndexLoss{}, false
}

// changedTest is a test whose way changed: the last index before, and those since.
type changedTest struct {
	then  *Symmetry
	since []*Symmetry
}

// changedTests are the tests that the latest session has, and that were done otherwise
// before it, but never in the present way.
func (m *Measurements) changedTests(trained bool, p *protocol.Protocol) (all []changedTest) {
	for _, motion := range shoulder.Motions {
		for _, position := range shoulder.Positions {
			if motion.Trained() != trained {
				continue
			}
			if t := m.changedTest(motion, position); t.then != nil && p.RedFlag.Window.Met(exact.Int(int64(DaysBetween(t.then.When, t.since[0].When)))) {
				all = append(all, t)
			}
		}
	}
	return all
}

func (m *Measurements) changedTest(motion shoulder.Motion, position shoulder.ArmPosition) (t changedTest) {
	var of []*Symmetry
	for i := range m.Symmetries {
		if s := &m.Symmetries[i]; s.Motion == motion && s.Position == position && !s.CarriedForward && s.Index.Sign() > 0 {
			of = append(of, s)
		}
	}
	if len(of) == 0 {
		return t
	}
	present := of[len(of)-1].Setting
	first := slices.IndexFunc(of, func(s *Symmetry) bool { return s.Setting == present })
	if first == 0 {
		return t
	}
	t.then = of[first-1]
	t.since = slices.DeleteFunc(of[first:], func(s *Symmetry) bool { return s.Setting != present })
	return t
}

func sessionsSince(tests []changedTest) (sessions []int) {
	for _, t := range tests {
		for _, s := range t.since {
			sessions = append(sessions, s.Session)
		}
	}
	slices.Sort(sessions)
	return slices.Compact(sessions)
}

// indexFall compares two indices of a test.
type indexFall struct{ then, now, latest *Symmetry }

func fallsAt(tests []changedTest, session int) (falls []indexFall) {
	for _, t := range tests {
		if i := slices.IndexFunc(t.since, func(s *Symmetry) bool { return s.Session == session }); i >= 0 {
			falls = append(falls, indexFall{t.then, t.since[i], t.since[len(t.since)-1]})
		}
	}
	return falls
}

func latestFalls(tests []changedTest) (falls []indexFall) {
	for _, t := range tests {
		latest := t.since[len(t.since)-1]
		falls = append(falls, indexFall{t.then, latest, latest})
	}
	return falls
}

// relative is the fall on the logarithm, and its variance.
func (f indexFall) relative() (fall, variance float64) {
	then, now := pairOf(f.then.Involved, f.then.Comparison), pairOf(f.now.Involved, f.now.Comparison)
	return math.Log(f.then.Index.Float64() / f.now.Index.Float64()), then.variance + now.variance
}

func (f indexFall) percent() float64 {
	fall, _ := f.relative()
	return 100 * (1 - math.Exp(-fall))
}

// meanIndexFall is the mean fall on the logarithm with its standard error.
func meanIndexFall(falls []indexFall, p *protocol.Protocol) (mean, sem float64) {
	variance, n := 0.0, float64(len(falls))
	for _, f := range falls {
		fall, v := f.relative()
		mean, variance = mean+fall/n, variance+v/n
	}
	return mean, jointError(variance, max(1, len(falls)), p)
}

// lossOfIndex finds a fall of all tests together, or of one by a large share, each at half
// of the probability of a false alarm.
func lossOfIndex(falls []indexFall, p *protocol.Protocol) (loss IndexLoss, found bool) {
	if len(falls) == 0 {
		return loss, false
	}
	deepest := slices.MaxFunc(falls, func(a, b indexFall) int {
		x, _ := a.relative()
		y, _ := b.relative()
		return cmp.Compare(x, y)
	})
	loss = IndexLoss{Then: deepest.then, Now: deepest.now, Latest: deepest.latest, Tests: len(falls)}
	mean, sem := meanIndexFall(falls, p)
	together := 100 * (1 - math.Exp(-mean))
	if len(falls) > 1 && mean > OneSided(falseAlarm(p)/2)*sem && together >= p.RedFlag.JointFall.Value.Float64() {
		loss.Together = together
		return loss, true
	}
	fall, variance := deepest.relative()
	loss.Tests = 1
	alone := fall > OneSided(falseAlarm(p)/2/float64(len(falls)))*math.Sqrt(variance)
	return loss, alone && deepest.percent() >= p.RedFlag.LargeFall.Value.Float64()
}
