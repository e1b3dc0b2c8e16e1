package assess

import (
	"slices"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
)

// TogetherOf is what several sessions show together of the test that decides in a
// position; nil if there is one session, or it decides nothing.
func (a *Assessment) TogetherOf(p *readiness.PositionReadiness) *course.TestCourse {
	if p.Symmetry == nil {
		return nil
	}
	if t := a.Course.Find(p.Symmetry.Setting); t != nil && t.Sessions > 1 {
		return t
	}
	return nil
}

// LooksAhead reports whether anything may be said of the time to come: not while a red
// flag, a doubt or the healing of a repair stands, nor by tests that are too old, nor where
// the sides cannot be held against each other, were tested apart since or are too faint to compare.
func (a *Assessment) LooksAhead() bool {
	r := a.Readiness
	if r.ComparisonAffected || !r.Tissue.Open() || len(r.Doubts)+len(r.Flags) > 0 {
		return false
	}
	for i := range r.Trained() {
		for k := range r.Motions[i].Positions {
			if p := &r.Motions[i].Positions[k]; p.Stale != nil || p.Overtaken != nil || p.Doubted != nil {
				return false
			}
		}
	}
	return true
}

// Ahead are the tests of enough sessions to look ahead.
func (a *Assessment) Ahead() (tests []*course.TestCourse) {
	if !a.LooksAhead() {
		return nil
	}
	for i := range a.Readiness.Motions {
		for k := range a.Readiness.Motions[i].Positions {
			if t := a.TogetherOf(&a.Readiness.Motions[i].Positions[k]); t != nil && t.Outlook.Prospect != course.TooFew {
				tests = append(tests, t)
			}
		}
	}
	return tests
}

// ChangeSince is what a true change of strength of a test comes to: the word of the measured
// change since that day, where it was measured. Where a sudden loss of strength is found, a
// fall is a decline since any day.
func (a *Assessment) ChangeSince(t *course.TestCourse, k *course.Change) measure.Direction {
	since := a.Course.Day(k.Day)
	for i := range a.Measurements.Changes {
		m := &a.Measurements.Changes[i]
		if m.Subject == measure.StrengthChange && m.Side == a.Episode.Involved && m.Setting == t.Setting && measure.DaysBetween(m.FromWhen, since) == 0 {
			return m.Direction
		}
	}
	lost := func(f redflag.Flag) bool { return f.Code == redflag.SuddenStrengthLoss }
	if k.Rise < 0 && slices.ContainsFunc(a.Readiness.Flags, lost) {
		return measure.Declined
	}
	return k.Word(a.Protocol)
}
