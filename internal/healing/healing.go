// Package healing says how much load a shoulder may bear at a time: by the weeks
// since a cuff repair, by what the operating surgeon permits, and by what a
// clinician has refused.
package healing

import (
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Basis is what the permitted load rests on.
type Basis uint8

// The bases.
const (
	NoRepair  Basis = iota // nothing is recorded that limits the load
	ByTime                 // the weeks since the repair
	Unknown                // a repair without its date and without a clearance
	Cleared                // a clearance before the usual time
	Permitted              // what the surgeon permits
	Refused                // a recorded refusal
	Unread                 // a statement that could not be read
)

// State is how much load is permitted at a time.
type State struct {
	Phase shoulder.LoadPhase
	Basis Basis
	// Repair is the latest repair, nil if there is none. Massive says that the
	// later weeks of a massive tear apply.
	Repair  *shoulder.Repair
	Massive bool
	Days    int // since the repair, if it is dated
	// Stated is when the clearance, permit or refusal was given that the phase
	// rests on; zero otherwise, and for a refusal without a date.
	Stated time.Time
	// TooEarly is the latest permit that does not count, because it came far before the
	// usual week of its phase; nil if there is none, or a later statement replaced it.
	TooEarly *shoulder.Permit
	// Capped is the permit that counts for sub-maximal work at the side only, because
	// nobody can tell how early it is without the date of the repair; nil if there is none.
	Capped *shoulder.Permit
	// Next is the phase that comes after this one, and NextDate the day from which
	// time permits it; zero if only a statement of the surgeon opens it.
	Next     shoulder.LoadPhase
	NextDate time.Time
	Sources  []shoulder.SourceID
}

// Dated reports whether there is a repair with its date.
func (s *State) Dated() bool { return s.Repair != nil && !s.Repair.Date.IsZero() }

// At is the load that is permitted at a time to the involved shoulder. A refusal
// counts until it is taken back; a permit of the surgeon goes before the weeks; a
// clearance, or a permit where the repair has no date, opens sub-maximal work at the side
// and no more.
func At(e *shoulder.Episode, p *protocol.Protocol, when time.Time) State {
	s := State{Repair: latestRepair(e, when)}
	var passed shoulder.LoadPhase
	if s.Repair == nil {
		s.Phase, passed = shoulder.LoadSport, shoulder.LoadSport
	} else {
		s.Sources = append(s.Sources, s.Repair.Source)
		s.findMassive(e, p)
		passed = s.byTime(p, when)
	}
	s.state(e, p, when, passed)
	s.lookAhead(p, when)
	return s
}

// latestRepair is the latest repair of the involved side, or of no stated side,
// up to a time. One without a date counts as the latest.
func latestRepair(e *shoulder.Episode, when time.Time) *shoulder.Repair {
	var latest *shoulder.Repair
	for i := range e.Repairs {
		r := &e.Repairs[i]
		if r.Side == e.Involved.Other() || measure.DaysBetween(r.Date, when) < 0 {
			continue
		}
		if r.Date.IsZero() {
			return r
		}
		if latest == nil || r.Date.After(latest.Date) {
			latest = r
		}
	}
	return latest
}

// findMassive: one recorded size over the limit is enough.
func (s *State) findMassive(e *shoulder.Episode, p *protocol.Protocol) {
	for i := range e.Tears {
		tear := &e.Tears[i]
		if tear.Side != e.Involved.Other() && p.Tissue.Massive.Met(tear.Centimetres) {
			s.Massive = true
			s.Sources = append(s.Sources, tear.Source)
			return
		}
	}
}

// byTime is the phase that the weeks since the repair permit.
func (s *State) byTime(p *protocol.Protocol, when time.Time) shoulder.LoadPhase {
	if !s.Dated() {
		s.Basis = Unknown
		return shoulder.LoadNone
	}
	s.Basis, s.Days = ByTime, measure.DaysBetween(s.Repair.Date, when)
	for _, phase := range shoulder.LoadPhases[1:] {
		if !p.Tissue.After(phase, s.Massive).Met(s.Weeks()) {
			break
		}
		s.Phase = phase
	}
	return s.Phase
}

// Weeks are the weeks since a dated repair, exactly.
func (s *State) Weeks() exact.Number {
	weeks, _ := exact.Int(int64(s.Days)).Quo(exact.Int(daysPerWeek))
	return weeks
}

const daysPerWeek = 7

// state applies what clinicians have stated: a clearance lifts the first phase to
// the second, a permit sets the phase, and a refusal takes all load away.
func (s *State) state(e *shoulder.Episode, p *protocol.Protocol, when time.Time, passed shoulder.LoadPhase) {
	if c := latestClearance(e, when); c != nil && passed == shoulder.LoadNone && s.coversRepair(c.When) {
		s.rest(Cleared, shoulder.LoadSubmaximalAtSide, c.When, c.Source)
	}
	if permit := s.latestPermit(e, p, when); permit != nil {
		phase := permit.Phase
		if s.Repair != nil && !s.Dated() && phase > shoulder.LoadSubmaximalAtSide {
			phase, s.Capped = shoulder.LoadSubmaximalAtSide, permit
		}
		s.rest(Permitted, phase, permit.When, permit.Source)
	}
	if unread := s.mostCarefulUnread(e, when); unread != nil && unread.Phase < s.Phase {
		s.rest(Unread, unread.Phase, unread.When, unread.Source)
	}
	if refusal := refusalIn(e.Clearances, e.Involved, when); refusal != nil {
		s.rest(Refused, shoulder.LoadNone, refusal.When, refusal.Source)
	}
	if refusal := StandingRefusal(e, when); refusal != nil {
		s.rest(Refused, shoulder.LoadNone, refusal.When, refusal.Source)
	}
}

// mostCarefulUnread is the statement that permits the least of those that could not be read
// and that no later one has replaced; nil if there is none. It may have forbidden what the
// weeks permit. One without a date always counts, as a refusal without one does.
func (s *State) mostCarefulUnread(e *shoulder.Episode, when time.Time) (least *shoulder.Permit) {
	for i := range e.Unread {
		x := &e.Unread[i]
		counts := x.When.IsZero() || measure.DaysBetween(x.When, when) >= 0 && s.coversRepair(x.When) && !replaced(e, x.When, when)
		if x.Side != e.Involved.Other() && counts && (least == nil || x.Phase < least.Phase) {
			least = x
		}
	}
	return least
}

// replaced reports whether a clinician has stated on a later day what the involved shoulder
// may bear.
func replaced(e *shoulder.Episode, stated, when time.Time) bool {
	later := func(x time.Time, side shoulder.Side) bool {
		return side != e.Involved.Other() && measure.DaysBetween(stated, x) > 0 && measure.DaysBetween(x, when) >= 0
	}
	ofStatement := func(x shoulder.Statement) bool { return later(x.When, x.Side) }
	return slices.ContainsFunc(e.Permits, func(x shoulder.Permit) bool { return later(x.When, x.Side) }) ||
		slices.ContainsFunc(e.Clearances, ofStatement) || slices.ContainsFunc(e.Examinations, ofStatement)
}

func (s *State) rest(on Basis, phase shoulder.LoadPhase, stated time.Time, source shoulder.SourceID) {
	s.Basis, s.Phase, s.Stated = on, phase, stated
	s.Sources = append(s.Sources, source)
}

// coversRepair reports whether a statement was given after the repair.
func (s *State) coversRepair(stated time.Time) bool {
	return s.Repair == nil || measure.DaysBetween(s.Repair.Date, stated) >= 0
}

func latestClearance(e *shoulder.Episode, when time.Time) *shoulder.Statement {
	for i := len(e.Clearances) - 1; i >= 0; i-- {
		if c := &e.Clearances[i]; c.Cleared && c.Side != e.Involved.Other() && measure.DaysBetween(c.When, when) >= 0 {
			return c
		}
	}
	return nil
}

// latestPermit is the latest permit since the repair; of one day the more careful one.
// One that came far too early is passed over and named.
func (s *State) latestPermit(e *shoulder.Episode, p *protocol.Protocol, when time.Time) (latest *shoulder.Permit) {
	for i := range e.Permits {
		permit := &e.Permits[i]
		if permit.Side == e.Involved.Other() || measure.DaysBetween(permit.When, when) < 0 || !s.coversRepair(permit.When) {
			continue
		}
		switch {
		case s.isTooEarly(permit, p):
			s.TooEarly = permit
		case latest == nil || measure.DaysBetween(latest.When, permit.When) > 0 || permit.Phase < latest.Phase:
			latest = permit
		}
	}
	if s.TooEarly != nil && latest != nil && measure.DaysBetween(s.TooEarly.When, latest.When) > 0 {
		s.TooEarly = nil
	}
	return latest
}

// isTooEarly reports whether a permit came so far before the usual week of its phase
// that it is more likely a slip.
func (s *State) isTooEarly(permit *shoulder.Permit, p *protocol.Protocol) bool {
	if !s.Dated() || permit.Phase == shoulder.LoadNone {
		return false
	}
	weeks, _ := exact.Int(int64(measure.DaysBetween(s.Repair.Date, permit.When))).Quo(exact.Int(daysPerWeek))
	return !p.Tissue.PermitAhead.Met(p.Tissue.After(permit.Phase, s.Massive).Value.Sub(weeks))
}

// StandingRefusal is the latest examination if it found that the shoulder may
// not be loaded.
func StandingRefusal(e *shoulder.Episode, when time.Time) *shoulder.Statement {
	return refusalIn(e.Examinations, e.Involved, when)
}

// refusalIn is the latest of statements, which are oldest first, if it refuses load,
// or a refusal without a date. Of two on one day the refusal stands unless both have
// a time and it came first.
func refusalIn(statements []shoulder.Statement, involved shoulder.Side, when time.Time) (refusal *shoulder.Statement) {
	for i := range statements {
		x := &statements[i]
		switch {
		case x.Side == involved.Other() || measure.DaysBetween(x.When, when) < 0:
		case !x.Cleared && x.When.IsZero():
			return x
		case !x.Cleared:
			refusal = x
		case refusal != nil && takesBack(x, refusal):
			refusal = nil
		}
	}
	return refusal
}

// takesBack reports whether a clearance surely came after a refusal.
func takesBack(clearance, refusal *shoulder.Statement) bool {
	if measure.DaysBetween(refusal.When, clearance.When) > 0 {
		return true
	}
	return !clearance.IsDay && !refusal.IsDay && clearance.When.After(refusal.When)
}

// lookAhead says which phase comes next, and when.
func (s *State) lookAhead(p *protocol.Protocol, when time.Time) {
	s.Next = s.Phase
	if s.Phase == shoulder.LoadSport {
		return
	}
	s.Next = s.Phase + 1
	if s.Basis == Refused || s.Basis == Unread || !s.Dated() {
		return
	}
	days := wholeDays(p.Tissue.After(s.Next, s.Massive).Value)
	if date := s.Repair.Date.AddDate(0, 0, days); measure.DaysBetween(when, date) > 0 && s.Basis != Permitted {
		s.NextDate = date
	}
}

// wholeDays is a number of weeks in days, rounded up.
func wholeDays(weeks exact.Number) int {
	days := weeks.Mul(exact.Int(daysPerWeek))
	whole := int(days.Float64())
	if exact.Int(int64(whole)).Cmp(days) < 0 {
		whole++
	}
	return whole
}
