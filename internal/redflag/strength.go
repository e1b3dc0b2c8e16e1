package redflag

import (
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// tests says something of each motion in each position.
type tests [len(shoulder.Rotations) + 1][len(shoulder.Positions) + 1]bool

// strengthLoss finds a loss of strength beyond measurement error: now, or in an
// earlier session if no later one shows the strength regained.
func (f *finder) strengthLoss() {
	scores := f.m.Scores
	for n := 0; n < mostSessions && len(scores) > 0; n++ {
		loss, found := f.lossOf(scores)
		if found && (n == 0 || !f.regained(&loss)) {
			f.addLoss(&loss)
			return
		}
		if n == 0 && !f.mayBeWeaker() {
			break
		}
		scores = beforeSession(scores)
	}
	f.gradeLoss()
}

// lossOf looks at the trained motions first, and at the others on their own.
func (f *finder) lossOf(scores []measure.Score) (measure.Loss, bool) {
	loss, found := measure.LossOf(scores, f.side, true, f.p, f.counts)
	if !found {
		loss, found = measure.LossOf(scores, f.side, false, f.p, f.counts)
	}
	return loss, found
}

// mayBeWeaker reports whether any test is lower than it ever was beyond the error of
// one test: else there is no earlier loss to look for.
func (f *finder) mayBeWeaker() bool {
	type course struct{ best, last *measure.Score }
	courses := map[measure.Setting]*course{}
	for i := range f.m.Scores {
		s := &f.m.Scores[i]
		if s.Side != f.side {
			continue
		}
		c := courses[s.Setting]
		if c == nil || c.last.Dimension != s.Dimension {
			c = &course{best: s}
			courses[s.Setting] = c
		}
		c.last = s
		if s.Value.Cmp(c.best.Value) > 0 {
			c.best = s
		}
	}
	for _, c := range courses {
		if c.last.Contraction == shoulder.Break || (measure.Fall{Now: c.last, Then: c.best}).Errors() > measure.Detectable(f.p) {
			return true
		}
	}
	return false
}

// beforeSession leaves out the scores of the latest session.
func beforeSession(scores []measure.Score) []measure.Score {
	n := len(scores)
	for n > 0 && scores[n-1].Session == scores[len(scores)-1].Session {
		n--
	}
	return scores[:n]
}

// regained reports whether a later test shows the strength that was there before a
// loss, within the error of one test. Strength that came back in part is still lost.
func (f *finder) regained(l *measure.Loss) bool {
	s := f.testedSince(l)
	return s != nil && measure.Fall{Now: s, Then: l.Then}.Errors() <= measure.Detectable(f.p)
}

// testedSince is the latest strength of the test that shows a loss, nil if it was not
// tested since.
func (f *finder) testedSince(l *measure.Loss) *measure.Score {
	for i := len(f.m.Scores) - 1; i >= 0 && f.m.Scores[i].Session > l.Now.Session; i-- {
		if s := &f.m.Scores[i]; measure.Comparable(s, l.Then) && !s.Doubts.Block() {
			return s
		}
	}
	return nil
}

// counts reports whether a strength may raise a flag. A doubt does not keep it from
// that, lest a slip of the pen hide a loss; only where both sides read like another
// unit it is the unit that has to be settled first.
func (f *finder) counts(s *measure.Score) bool {
	return !s.Doubts.Has(measure.UnitMayBeWrong) || !f.bothTested(s.Session)
}

// bothTested reports whether the comparison side was tested in a session as well.
// Without it a doubt about the unit may be a loss.
func (f *finder) bothTested(session int) bool {
	return slices.ContainsFunc(f.m.Scores, func(s measure.Score) bool {
		return s.Session == session && s.Side == f.episode.Involved.Other()
	})
}

func (f *finder) addLoss(l *measure.Loss) {
	threshold := f.p.RedFlag.LargeFall
	if l.Together > 0 {
		threshold = f.p.RedFlag.JointFall
	}
	var latest Reading
	if s := f.testedSince(l); s != nil {
		latest = readingOf(s)
	}
	f.add(Flag{
		Code: SuddenStrengthLoss, Since: latest, Rotation: l.Now.Rotation, Position: l.Now.Position, Tests: l.Tests, Together: l.Together,
		Now: readingOf(l.Now), Then: readingOf(l.Then), Threshold: threshold,
		Sources: measure.Union(l.Now.Sources, l.Then.Sources),
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
	for _, s := range measure.LatestOf(f.m.Scores, f.side) {
		limit := f.p.RedFlag.Force
		if s.Dimension == shoulder.Torque {
			limit = f.p.RedFlag.Torque
		}
		if s.Rotation.Trained() != trained || !f.counts(s) {
			continue
		}
		if almost := f.almostNone(s, limit); almost != nil {
			f.add(Flag{
				Code: NearZeroForce, Rotation: s.Rotation, Position: s.Position, Now: readingOf(almost), Since: since(readingOf(almost), readingOf(s)),
				Threshold: limit, Sources: almost.Sources,
			})
			return true
		}
	}
	return false
}

// almostNone is a strength that is almost none: the latest one of a test, or an earlier
// one, as long as the latest is not above the limit beyond its own error. It is nil if
// there is none.
func (f *finder) almostNone(latest *measure.Score, limit protocol.Threshold) *measure.Score {
	if limit.Met(latest.Value) {
		return latest
	}
	above := latest.Value.Float64() - limit.Value.Float64()
	if above > measure.Detectable(f.p)*latest.Error.SteadyAt(latest.Value.Float64()) {
		return nil
	}
	for i := len(f.m.Scores) - 1; i >= 0; i-- {
		s := &f.m.Scores[i]
		if s.Session < latest.Session && measure.Comparable(latest, s) && s.Side == latest.Side && f.counts(s) && limit.Met(s.Value) {
			return s
		}
	}
	return nil
}

// nearZeroGrade looks at the latest session with a manual test of such a motion. A
// dynamometer goes before it.
func (f *finder) nearZeroGrade(trained bool) (found bool) {
	for i := len(f.episode.Sessions) - 1; i >= 0; i-- {
		s := &f.episode.Sessions[i]
		of := func(g shoulder.Grade) bool { return g.Side == f.side && g.Rotation.Trained() == trained }
		if !slices.ContainsFunc(s.Grades, of) {
			continue
		}
		measured := f.measuredSince(i)
		for k := range s.Grades {
			g := &s.Grades[k]
			if of(*g) && g.Value <= f.p.RedFlag.Grade.Value && !measured[g.Rotation][g.Position] {
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
		if s := &f.m.Scores[i]; s.Side == f.side {
			measured[s.Rotation][s.Position] = true
		}
	}
	return measured
}

// mostSessions is how many sessions are looked at for a test that came too soon.
// Common practice: nobody tests a healing repair more often.
const mostSessions = 60

// resistedTooSoon finds a resisted test of a repaired shoulder at a time at which
// no resisted work was permitted, unless a test that was permitted came weeks after it.
func (f *finder) resistedTooSoon() {
	if len(f.episode.Repairs) == 0 {
		return
	}
	var permitted *shoulder.Session // the latest tested at a time at which it was
	for i := len(f.episode.Sessions) - 1; i >= max(0, len(f.episode.Sessions)-mostSessions); i-- {
		s := &f.episode.Sessions[i]
		source, tested := f.tested(s)
		if !tested {
			continue
		}
		state := healing.At(f.episode, f.p, s.When)
		switch tooSoon := state.Dated() && state.Phase == shoulder.LoadNone; {
		case permitted != nil && !f.recent(s.When, permitted.When):
			return
		case tooSoon:
			f.addTooSoon(s, source, &state)
			return
		case permitted == nil:
			permitted = s
		}
	}
}

func (f *finder) addTooSoon(s *shoulder.Session, source shoulder.SourceID, state *healing.State) {
	f.add(Flag{
		Code: ResistedBeforeClearance, Now: Reading{exact.Int(int64(state.Days)), "d", s.When},
		Then:      Reading{When: state.Repair.Date},
		Threshold: f.p.Tissue.After(shoulder.LoadSubmaximalAtSide, state.Massive),
		Sources:   measure.Union([]shoulder.SourceID{source}, state.Sources),
	})
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
