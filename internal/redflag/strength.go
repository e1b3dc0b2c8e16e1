package redflag

import (
	"math"
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// strengthLoss finds a loss of strength: of the trained motions and of the others each on
// their own, so that one that was examined never stands for another that was not.
func (f *finder) strengthLoss() {
	for _, trained := range [...]bool{true, false} {
		if !f.scoreLoss(trained) {
			f.gradeLoss(trained)
			f.indexLoss(trained)
		}
	}
}

// scoreLoss finds a loss beyond measurement error: one that nobody has examined, else one
// that was examined.
func (f *finder) scoreLoss(trained bool) bool {
	sessions, weaker := mostSessions, f.mayBeWeaker(trained)
	if !weaker {
		sessions = 1 // there is no earlier loss to look for
	}
	if f.standingLoss(sessions, trained, f.newLoss) || weaker && f.standingLoss(sessions, trained, f.newSlowLoss) {
		return true
	}
	return len(f.episode.Examinations) > 0 &&
		(f.standingLoss(sessions, trained, f.examinedLoss) || weaker && f.standingLoss(sessions, trained, f.examinedSlowLoss))
}

// newSlowLoss is a loss against the best of the whole episode that nobody has examined: of a
// test that is less than it was when the shoulder was examined.
func (f *finder) newSlowLoss(scores []measure.Score, trained bool) (measure.Loss, bool) {
	return measure.SlowLossOf(scores, f.side, trained, f.sinceRepair(scores), f.p, func(s *measure.Score) bool {
		return f.counts(s) && f.examined(s.When) == nil && (f.lastExamined(scores) == nil || f.lessThanExamined(s))
	})
}

// examinedSlowLoss is one that a clinician has examined.
func (f *finder) examinedSlowLoss(scores []measure.Score, trained bool) (measure.Loss, bool) {
	return measure.SlowLossOf(scores, f.side, trained, f.sinceRepair(scores), f.p, func(s *measure.Score) bool {
		return f.counts(s) && f.examined(s.When) != nil
	})
}

// sinceRepair is the day of the latest repair of the shoulder before the latest strength, else
// the beginning: what a shoulder could do before its operation is no measure of what it has lost.
func (f *finder) sinceRepair(scores []measure.Score) (since time.Time) {
	last := scores[len(scores)-1].When
	for i := range f.episode.Repairs {
		r := &f.episode.Repairs[i]
		if r.Side == f.side && !r.Date.After(last) && r.Date.After(since) {
			since = r.Date
		}
	}
	return since
}

// standingLoss finds a loss now, or in an earlier session if no later one shows the
// strength regained.
func (f *finder) standingLoss(sessions int, trained bool, lossOf func([]measure.Score, bool) (measure.Loss, bool)) bool {
	scores := f.m.Scores
	for n := 0; n < sessions && len(scores) > 0; n++ {
		if loss, found := lossOf(scores, trained); found && (n == 0 || !f.regained(&loss)) {
			f.addLoss(&loss)
			return true
		}
		scores = beforeSession(scores)
	}
	return false
}

// newLoss is a loss that nobody has examined: against what was measured since an
// examination, or of a test that is less than it was then by a real change. The strength
// that was examined is no new loss when it is measured again.
func (f *finder) newLoss(scores []measure.Score, trained bool) (measure.Loss, bool) {
	unexamined := func(s *measure.Score) bool { return f.counts(s) && f.examined(s.When) == nil }
	first := f.lastExamined(scores)
	if first == nil {
		return measure.LossOf(scores, f.side, trained, f.p, unexamined)
	}
	since := slices.IndexFunc(scores, func(s measure.Score) bool { return s.Session == first.Session })
	if loss, found := measure.LossOf(scores[since:], f.side, trained, f.p, unexamined); found {
		return loss, true
	}
	return measure.LossOf(scores, f.side, trained, f.p, func(s *measure.Score) bool { return unexamined(s) && f.lessThanExamined(s) })
}

// examinedLoss is a loss that a clinician has examined.
func (f *finder) examinedLoss(scores []measure.Score, trained bool) (measure.Loss, bool) {
	return measure.LossOf(scores, f.side, trained, f.p, func(s *measure.Score) bool { return f.counts(s) && f.examined(s.When) != nil })
}

// lastExamined is the latest strength that was there when the shoulder was examined, nil
// if there is none.
func (f *finder) lastExamined(scores []measure.Score) *measure.Score {
	for i := range slices.Backward(scores) {
		if s := &scores[i]; s.Side == f.side && f.examined(s.When) != nil {
			return s
		}
	}
	return nil
}

// lessThanExamined reports whether a strength is less by a real change than the same test
// was when the shoulder was examined, or at any time since; also if it was not tested then.
func (f *finder) lessThanExamined(now *measure.Score) bool {
	for i := range slices.Backward(f.m.Scores) {
		s := &f.m.Scores[i]
		if s.Session >= now.Session || !measure.Comparable(s, now) {
			continue
		}
		if (measure.Fall{Now: now, Then: s}).Errors() > measure.Detectable(f.p) {
			return true
		}
		if f.examined(s.When) != nil {
			return false
		}
	}
	return true
}

// mayBeWeaker reports whether any test ever was lower than before beyond the error of
// one test: else there is no earlier loss to look for.
func (f *finder) mayBeWeaker(trained bool) bool {
	best := map[measure.Setting]*measure.Score{}
	for i := range f.m.Scores {
		s := &f.m.Scores[i]
		if s.Side != f.side || s.Motion.Trained() != trained {
			continue
		}
		then := best[s.Setting]
		if s.Contraction == shoulder.Break || then != nil && then.Dimension == s.Dimension && (measure.Fall{Now: s, Then: then}).Errors() > measure.Detectable(f.p) {
			return true
		}
		if then == nil || then.Dimension != s.Dimension || s.Value.Cmp(then.Value) > 0 {
			best[s.Setting] = s
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
// loss, within the error of one test, and the other tests of that visit do so together.
// Strength that came back in part is still lost. So is strength that came back sooner than two
// tests confirm each other: no muscle does that, so that one of the two is wrong, and nobody
// knows which.
func (f *finder) regained(l *measure.Loss) bool {
	s := f.testedSince(l)
	return s != nil && f.confirms(l.Now.When, s.When) && measure.Fall{Now: s, Then: l.Then}.Errors() <= measure.Detectable(f.p) &&
		!measure.LessTogether(f.m.Scores, l.Then, s, f.p)
}

// confirms reports whether a test is so many days later than another that the two are no
// repetition of one.
func (f *finder) confirms(than, when time.Time) bool {
	return f.p.Symmetry.ConfirmAfter.Met(exact.Int(int64(measure.DaysBetween(than, when))))
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
// unit it is the unit that has to be settled first. No force is none in every unit.
func (f *finder) counts(s *measure.Score) bool {
	return s.Value.Sign() == 0 || !s.Doubts.Has(measure.UnitMayBeWrong) || !f.bothTested(s)
}

// bothTested reports whether the comparison side was tested in the session of a strength
// as well, in any of the trained motions or of the others. Without it a doubt about the
// unit may be a loss.
func (f *finder) bothTested(of *measure.Score) bool {
	return slices.ContainsFunc(f.m.Scores, func(s measure.Score) bool {
		return s.Session == of.Session && s.Side == f.episode.Involved.Other() && s.Motion.Trained() == of.Motion.Trained()
	})
}

func (f *finder) addLoss(l *measure.Loss) {
	threshold := f.p.RedFlag.LargeFall
	if l.Together > 0 {
		threshold = f.p.RedFlag.JointFall
	}
	var latest Measured
	var from time.Time
	if s := f.testedSince(l); s != nil {
		latest = measuredStrength(s)
		if !f.confirms(l.Now.When, s.When) {
			from = l.Now.When.AddDate(0, 0, int(math.Ceil(f.p.Symmetry.ConfirmAfter.Value.Float64())))
		}
	}
	f.add(Flag{
		Code: SuddenStrengthLoss, Slow: !f.recent(l.Then.When, l.Now.When), Since: latest, From: from, Motion: l.Now.Motion, Position: l.Now.Position, Tests: l.Tests, Together: l.Together,
		Now: measuredStrength(l.Now), Then: measuredStrength(l.Then), Threshold: threshold,
		Sources: measure.Union(l.Now.Sources, l.Then.Sources),
	})
}

func measuredStrength(s *measure.Score) Measured {
	return Measured{s.Value, s.Dimension.Unit(), s.When}
}

// nearZero finds a strength of a side that is almost none: by the dynamometer, or by the
// manual test. The trained motions and the others are looked at each on their own.
func (f *finder) nearZero() {
	for _, trained := range [...]bool{true, false} {
		f.addFirst(append(f.nearZeroScores(trained), f.nearZeroGrades(trained)...))
	}
}

func (f *finder) nearZeroScores(trained bool) (all []Flag) {
	for _, s := range measure.LatestOf(f.m.Scores, f.side) {
		if s.Motion.Trained() != trained {
			continue
		}
		if almost := f.almostNone(s); almost != nil {
			all = append(all, Flag{
				Code: NearZeroForce, Motion: s.Motion, Position: s.Position, Now: measuredStrength(almost), Since: since(measuredStrength(almost), measuredStrength(s)),
				Threshold: measure.AlmostNone(almost, f.p), Sources: almost.Sources,
			})
		}
	}
	return all
}

// almostNone is a strength that is almost none: the latest one of a test, another of the
// same day, or an earlier one, as long as the latest is not above the limit beyond its own
// error. A latest one of a doubtful unit shows nothing. It is nil if there is none.
func (f *finder) almostNone(latest *measure.Score) *measure.Score {
	counts := f.counts(latest)
	if counts && measure.AlmostNone(latest, f.p).Met(latest.Value) {
		return latest
	}
	whole := counts && f.clearlyAbove(latest, measure.AlmostNone(latest, f.p))
	for i := range slices.Backward(f.m.Scores) {
		s := &f.m.Scores[i]
		ofTest := s.Side == latest.Side && s.Motion == latest.Motion && s.Position == latest.Position && s.Session <= latest.Session
		if !ofTest || !f.counts(s) || !measure.AlmostNone(s, f.p).Met(s.Value) {
			continue
		}
		sameDay := !laterDay(s.When, latest.When)
		if sameDay || !whole && s.Session < latest.Session && measure.Comparable(latest, s) {
			return s
		}
	}
	return nil
}

// clearlyAbove reports whether a strength is above a limit beyond its own error.
func (f *finder) clearlyAbove(s *measure.Score, limit protocol.Threshold) bool {
	above := s.Value.Float64() - limit.Value.Float64()
	return above > measure.Detectable(f.p)*s.Error.SteadyAt(s.Value.Float64())
}

// measuredWithOrAfter reports whether the test of a grade was measured with a dynamometer
// in the session of the grade, or on a later day.
func (f *finder) measuredWithOrAfter(g graded) bool {
	for i := len(f.m.Scores) - 1; i >= 0 && f.m.Scores[i].Session >= g.session; i-- {
		s := &f.m.Scores[i]
		same := s.Side == f.side && s.Motion == g.Motion && s.Position == g.Position
		if same && (s.Session == g.session || laterDay(f.when(g), s.When)) {
			return true
		}
	}
	return false
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
		// An operation that may be no repair holds the load; it makes no test an alarm.
		switch tooSoon := state.Dated() && state.Phase == shoulder.LoadNone && state.Repair.Kind != shoulder.RepairPossible; {
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
		Code: ResistedBeforeClearance, Now: Measured{exact.Int(int64(state.Days)), "d", s.When},
		Then:      Measured{When: state.Repair.Date},
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
