package redflag

import (
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// strengthLoss finds a loss of strength beyond its detectable change against an
// earlier session of the last weeks: of several tests together, or of one by a
// large share.
//
// The latest strength is held against each earlier session, so that a slow fall is
// found too. The more comparisons, the likelier one of them deceives; the
// detectable change is corrected for their number by Bonferroni's inequality
// (Dunn 1961, J Am Stat Assoc 56:52-64).
//
// The trained motions are looked at first, and the others on their own.
func (f *finder) strengthLoss() {
	for _, trained := range [...]bool{true, false} {
		if worst, tests := f.lossOf(trained); tests > 0 {
			f.addLoss(worst, tests)
			return
		}
	}
}

// lossOf finds the loss among the motions with steps, or among the others: the
// deepest fall, and the number of tests that fell.
func (f *finder) lossOf(trained bool) (worst measure.Fall, tests int) {
	h := measure.HistoryOf(f.m.Scores, f.episode.Involved, trained, f.p)
	if len(h.Falls) == 0 {
		return worst, 0
	}
	alarm := f.p.RedFlag.FalseAlarm.Float() / 100
	several, single := measure.OneSided(alarm/float64(h.Sessions)), measure.OneSided(alarm/float64(h.Sessions*h.Tests))
	h.BySession(func(falls []measure.Fall) {
		deepest, fell := f.fell(falls, several)
		if f.p.RedFlag.Tests.Met(exact.Int(int64(fell))) && (tests == 0 || deepest.Percent() > worst.Percent()) {
			worst, tests = deepest, max(tests, fell)
		}
	})
	if tests == 0 {
		return f.largeFall(&h, single)
	}
	return worst, tests
}

// tests says something of each motion in each position.
type tests [len(shoulder.Rotations) + 1][len(shoulder.Positions) + 1]bool

// counts reports whether a strength is young enough to raise a flag. A doubt does
// not keep it from that, lest a slip of the pen hide a loss; only where both sides
// read like another unit it is the unit that has to be settled first.
func (f *finder) counts(s *measure.Score) bool {
	return f.current(s.When) && (!s.Doubts.Has(measure.UnitMayBeWrong) || !f.bothTested(s.Session))
}

// bothTested reports whether the comparison side was tested in a session as well.
// Without it a doubt about the unit may be a loss.
func (f *finder) bothTested(session int) bool {
	return slices.ContainsFunc(f.m.Scores, func(s measure.Score) bool {
		return s.Session == session && s.Side == f.episode.Involved.Other()
	})
}

// fell counts the rotations and positions whose strength fell beyond error, and
// finds the one that fell most.
func (f *finder) fell(falls []measure.Fall, z float64) (deepest measure.Fall, count int) {
	var seen tests // one test under two conditions is one
	for _, x := range falls {
		if !f.counts(x.Now) || x.Errors() <= z {
			continue
		}
		if at := &seen[x.Now.Rotation][x.Now.Position]; !*at {
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
func (f *finder) largeFall(h *measure.History, z float64) (worst measure.Fall, tests int) {
	for _, x := range h.Falls {
		percent := exact.Int(100).Sub(share(x))
		if !f.counts(x.Now) || x.Errors() <= z || !f.p.RedFlag.LargeFall.Met(percent) {
			continue
		}
		if tests == 0 || x.Percent() > worst.Percent() {
			worst, tests = x, 1
		}
	}
	return worst, tests
}

// share is what is left of a strength, in per cent.
func share(x measure.Fall) exact.Number {
	left, ok := x.Now.Value.Mul(exact.Int(100)).Quo(x.Then.Value)
	if !ok {
		return exact.Int(100)
	}
	return left
}

func (f *finder) addLoss(x measure.Fall, tests int) {
	f.add(Flag{
		Code: SuddenStrengthLoss, Rotation: x.Now.Rotation, Position: x.Now.Position, Tests: tests,
		Now: readingOf(x.Now), Then: readingOf(x.Then), Threshold: f.p.RedFlag.LargeFall,
		Sources: measure.Union(x.Now.Sources, x.Then.Sources),
	})
}

func readingOf(s *measure.Score) Reading { return Reading{s.Value, s.Dimension.Unit(), s.When} }

// nearZero finds a strength of the involved side that is almost none: by the
// dynamometer, or by the manual test where that position was not measured
// otherwise in the session. The trained motions are looked at first.
func (f *finder) nearZero() {
	for _, trained := range [...]bool{true, false} {
		if f.nearZeroScore(trained) || f.nearZeroGrade(trained) {
			return
		}
	}
}

func (f *finder) nearZeroScore(trained bool) (found bool) {
	for _, s := range measure.LatestOf(f.m.Scores, f.episode.Involved) {
		limit := f.p.RedFlag.Force
		if s.Dimension == shoulder.Torque {
			limit = f.p.RedFlag.Torque
		}
		if s.Rotation.Trained() == trained && f.counts(s) && limit.Met(s.Value) {
			f.add(Flag{
				Code: NearZeroForce, Rotation: s.Rotation, Position: s.Position, Now: readingOf(s), Threshold: limit, Sources: s.Sources,
			})
			return true
		}
	}
	return false
}

// nearZeroGrade looks at the latest session with a manual test of such a motion. A
// dynamometer goes before it.
func (f *finder) nearZeroGrade(trained bool) (found bool) {
	for i := len(f.episode.Sessions) - 1; i >= 0 && f.current(f.episode.Sessions[i].When); i-- {
		s := &f.episode.Sessions[i]
		of := func(g shoulder.Grade) bool { return g.Rotation.Trained() == trained }
		if !slices.ContainsFunc(s.Grades, of) {
			continue
		}
		measured := f.measuredSince(i)
		for k := range s.Grades {
			g := &s.Grades[k]
			low := g.Side == f.episode.Involved && g.Value <= f.p.RedFlag.Grade.Value
			if of(*g) && low && !measured[g.Rotation][g.Position] {
				f.add(Flag{
					Code: NearZeroForce, Rotation: g.Rotation, Position: g.Position, Grade: g.Value,
					Now: Reading{When: s.When}, Sources: []shoulder.SourceID{g.Source},
				})
				return true
			}
		}
		return false
	}
	return false
}

// measuredSince says which rotations and positions of the involved side were
// measured with a dynamometer in a session or later.
func (f *finder) measuredSince(session int) (measured tests) {
	for i := len(f.m.Scores) - 1; i >= 0 && f.m.Scores[i].Session >= session; i-- {
		if s := &f.m.Scores[i]; s.Side == f.episode.Involved {
			measured[s.Rotation][s.Position] = true
		}
	}
	return measured
}

// mostSessions is how many sessions are looked at for a test that came too soon.
// Common practice: nobody tests a healing repair more often.
const mostSessions = 60

// resistedTooSoon finds a resisted test of a repaired shoulder at a time at which
// no resisted work was permitted.
func (f *finder) resistedTooSoon() {
	if len(f.episode.Repairs) == 0 {
		return
	}
	for i := len(f.episode.Sessions) - 1; i >= max(0, len(f.episode.Sessions)-mostSessions); i-- {
		s := &f.episode.Sessions[i]
		if !f.recent(s.When, f.asOf) {
			return
		}
		source, tested := f.tested(s)
		if !tested {
			continue
		}
		state := healing.At(f.episode, f.p, s.When)
		if state.Dated() && state.Phase == shoulder.LoadNone {
			f.add(Flag{
				Code: ResistedBeforeClearance, Now: Reading{exact.Int(int64(state.Days)), "d", s.When},
				Then:      Reading{When: state.Repair.Date},
				Threshold: f.p.Tissue.After(shoulder.LoadSubmaximalAtSide, state.Massive),
				Sources:   measure.Union([]shoulder.SourceID{source}, state.Sources),
			})
			return
		}
	}
}

// tested finds a resisted test of the involved side in a session.
func (f *finder) tested(s *shoulder.Session) (source shoulder.SourceID, is bool) {
	for i := range s.Trials {
		if s.Trials[i].Side == f.episode.Involved {
			return s.Trials[i].Source, true
		}
	}
	for i := range s.Grades {
		if s.Grades[i].Side == f.episode.Involved && s.Grades[i].Value >= shoulder.Grade4Minus {
			return s.Grades[i].Source, true
		}
	}
	return 0, false
}
