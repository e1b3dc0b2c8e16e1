// Package redflag finds what in the measurements calls for an examination of the
// shoulder before it is loaded: sudden loss of strength or range, almost no force,
// an arm that cannot be lifted, pain that surges or does not rest, and a resisted
// test of a repair that was not to be loaded yet. It looks at the measurements
// alone and stands above every rule of readiness.
package redflag

import (
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Code is the kind of a red flag.
type Code uint8

// The red flags, in the order in which they are shown.
const (
	SuddenStrengthLoss Code = iota
	RangeLoss
	NearZeroForce
	CannotLift
	PainSurge
	HighRestPain
	ResistedBeforeClearance
)

// Codes lists every red flag in order.
var Codes = [...]Code{
	SuddenStrengthLoss, RangeLoss, NearZeroForce, CannotLift, PainSurge, HighRestPain, ResistedBeforeClearance,
}

// String is the code of the flag in the project's code system.
func (c Code) String() string {
	return [...]string{
		"sudden-strength-loss", "range-loss", "near-zero-force", "cannot-lift", "pain-surge", "high-rest-pain",
		"resisted-test-before-clearance",
	}[c]
}

// Measured is a measured number with its unit and date. One without a date
// was not measured.
type Measured struct {
	Value exact.Number
	Unit  string // UCUM
	When  time.Time
}

// since is the latest value of a measure if it came after the one that raised a flag.
func since(now, latest Measured) Measured {
	if latest.When.After(now.When) {
		return latest
	}
	return Measured{}
}

// Flag is one red flag with the numbers that show it.
type Flag struct {
	Code Code
	Side shoulder.Side // of the shoulder that it is about
	// What the numbers are about, as far as it applies.
	Motion   shoulder.Motion
	Position shoulder.ArmPosition
	Movement shoulder.Movement
	Context  shoulder.PainContext
	Grade    shoulder.MuscleGrade
	// GradeThen is the grade that a lower one is read against.
	GradeThen shoulder.MuscleGrade
	// Now is the number that raises the flag, Then the one that it is read against:
	// an earlier one; the passive range or the index beside an arm that cannot be
	// lifted; the weeks since the repair at the time of a test.
	Now, Then Measured
	// Since is the latest number of the same measure if it is later than Now, and so
	// less than a whole recovery.
	Since Measured
	// From is the first day on which another test may end a loss of strength, if Since is
	// earlier than that; else zero.
	From time.Time
	// Tests is how many tests of strength fell; Together by how much in per cent on
	// average if only all of them together show it, else 0.
	Tests    int
	Together float64
	// Slow says that a loss of strength took longer than the weeks in which one is sudden.
	Slow      bool
	Threshold protocol.Threshold
	Sources   []shoulder.SourceID
	// Examined is the statement of a clinician who has examined the shoulder since
	// and cleared it for load; nil if nobody has.
	Examined *shoulder.Statement
}

// Holds reports whether the flag keeps all load out of the plan.
func (f *Flag) Holds() bool { return f.Examined == nil }

// Better reports whether the latest number is better than the one that raised the flag: less
// pain, more of anything else.
func (f *Flag) Better() bool {
	by := f.Since.Value.Cmp(f.Now.Value)
	if f.Code == PainSurge || f.Code == HighRestPain {
		by = -by
	}
	return by > 0
}

// Hold reports whether any of the flags does.
func Hold(flags []Flag) bool {
	for i := range flags {
		if flags[i].Holds() {
			return true
		}
	}
	return false
}

// Find lists the red flags as of a date. A flag is never ended by time: what raised it
// holds until a clinician has examined the shoulder or a later session shows it whole
// again, however long ago that was. Whole means: no real change from what it was before,
// or a real change to the good side of the limit that raised the flag; what has come back
// to just that limit may still lie beyond it. Later means another day: a better test of the
// same day contradicts the one that raised the flag, and ends nothing. The flags are in order: those that hold
// before those that were examined, each in the order of the codes.
func Find(e *shoulder.Episode, m *measure.Measurements, p *protocol.Protocol, asOf time.Time) []Flag {
	f := finder{episode: e, m: m, p: p, asOf: asOf}
	for _, side := range f.sides() {
		f.side = side
		f.strengthLoss()
		f.rangeLoss()
		f.nearZero()
		f.cannotLift()
	}
	f.side = e.Involved
	f.painSurge()
	f.restPain()
	f.resistedTooSoon()
	return f.inOrder()
}

// finder collects flags.
type finder struct {
	episode *shoulder.Episode
	m       *measure.Measurements
	p       *protocol.Protocol
	asOf    time.Time
	side    shoulder.Side // of the shoulder that is looked at
	flags   []Flag
}

// sides are the shoulders that are looked at: the involved one, and the other where
// it is affected as well.
func (f *finder) sides() []shoulder.Side {
	if f.episode.ComparisonAffected {
		return []shoulder.Side{f.episode.Involved, f.episode.Involved.Other()}
	}
	return []shoulder.Side{f.episode.Involved}
}

// add keeps a flag and says of which shoulder it is and whether it was examined.
func (f *finder) add(flag Flag) {
	flag.Side = f.side
	flag.Examined = f.examined(flag.Now.When)
	f.flags = append(f.flags, flag)
}

// addFirst keeps the first of several flags of one kind that nobody has examined since,
// else the first: one that was examined must not stand for one that was not.
func (f *finder) addFirst(flags []Flag) {
	if len(flags) == 0 {
		return
	}
	unexamined := slices.IndexFunc(flags, func(x Flag) bool { return f.examined(x.Now.When) == nil })
	f.add(flags[max(0, unexamined)])
}

// inOrder puts the flags that hold first.
func (f *finder) inOrder() []Flag {
	if len(f.flags) == 0 {
		return nil
	}
	ordered := make([]Flag, 0, len(f.flags))
	for _, holds := range [...]bool{true, false} {
		for i := range f.flags {
			if f.flags[i].Holds() == holds {
				ordered = append(ordered, f.flags[i])
			}
		}
	}
	return ordered
}

// examined is the latest statement about the shoulder that clears it for
// load, if it was given after the measurement and no refusal stands. One dated to
// the day alone covers what was measured on that day.
func (f *finder) examined(measured time.Time) *shoulder.Statement {
	if healing.StandingRefusal(f.episode, f.asOf) != nil {
		return nil
	}
	for i := len(f.episode.Examinations) - 1; i >= 0; i-- {
		x := &f.episode.Examinations[i]
		if !x.Cleared || x.Side == f.side.Other() || measure.DaysBetween(x.When, f.asOf) < 0 {
			continue
		}
		days := measure.DaysBetween(measured, x.When)
		if days > 0 || days == 0 && (x.IsDay || !x.When.Before(measured)) {
			return x
		}
	}
	return nil
}

// laterDay reports whether something was measured on a later day than another.
func laterDay(than, when time.Time) bool { return measure.DaysBetween(than, when) > 0 }

// laterDays are those of several measurements, oldest first, that were made on a later day
// than another: only they can end what it raised.
func laterDays[T any](all []T, than time.Time, when func(T) time.Time) []T {
	first := slices.IndexFunc(all, func(x T) bool { return laterDay(than, when(x)) })
	if first < 0 {
		return nil
	}
	return all[first:]
}

// recent reports whether a measurement lies in the weeks before another in which a
// change counts as sudden.
func (f *finder) recent(when, before time.Time) bool {
	return f.p.RedFlag.Window.Met(exact.Int(int64(measure.DaysBetween(when, before))))
}
