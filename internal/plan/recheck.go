package plan

import (
	"slices"
	"time"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// Sooner is why a re-check is early.
type Sooner uint8

// The reasons. The zero Sooner is none.
const (
	NotSooner      Sooner = iota
	AfterFall             // of a strength of the involved side, since the session before
	AfterRangeFall        // of an active range of it alone
	AfterDoubt            // about the sides or the unit of a session
)

// schedule says when to measure again, and why that is early, if it is. Of several reasons
// the earliest counts, so that a worse course never puts the re-check off.
func (b *builder) schedule() (sooner Sooner) {
	b.recheck = Window{b.inDays(b.p.Recheck.Earliest), b.inDays(b.p.Recheck.Latest)}
	worse := Window{b.inDays(b.p.Recheck.WorseEarliest), b.inDays(b.p.Recheck.WorseLatest)}
	if why := b.sooner(); why != NotSooner && b.soonest(worse) {
		sooner = why
	}
	if (b.r.TooOld() || b.r.LiftUnknown() != shoulder.MovementUnknown) && b.soonest(Window{b.asOf, b.inDays(b.p.Recheck.Earliest)}) {
		sooner = NotSooner
	}
	if b.r.Examine() {
		b.recheck, sooner = Window{b.asOf, b.inDays(b.p.RedFlag.Examine)}, NotSooner
	}
	return sooner
}

// soonest moves the re-check to a window where that ends sooner.
func (b *builder) soonest(w Window) bool {
	if !w.To.Before(b.recheck.To) {
		return false
	}
	b.recheck = Window{earlier(w.From, b.recheck.From), w.To}
	return true
}

func earlier(x, y time.Time) time.Time {
	if y.Before(x) {
		return y
	}
	return x
}

// sooner is why to measure again early: a fall of a strength or an active range of the
// involved side in the latest session; or nobody can tell, because sides or unit of a
// session are open. Pain has a limit and a red flag of its own.
func (b *builder) sooner() Sooner {
	if fell := b.fell(); fell != NotSooner {
		return fell
	}
	if b.r.SessionOpen() {
		return AfterDoubt
	}
	return NotSooner
}

// fell is what is lower than in the session before: a value clearly, several strengths
// probably, or all of them, which are not even any more. Strength goes before range.
//
// A strength counts if the course of all tests calls it so, or if it fell beyond the error
// of the two tests: what the other tests of the day say can then not put the re-check off.
func (b *builder) fell() Sooner {
	changes := b.sinceLast()
	clearly := func(subject measure.Subject) bool {
		return slices.ContainsFunc(changes, func(k *measure.Change) bool {
			return k.Subject == subject && (k.Direction == measure.Declined || k.FellBeyondError())
		})
	}
	probably := 0
	for _, k := range changes {
		if k.Subject == measure.StrengthChange && k.Direction == measure.PossiblyDeclined {
			probably++
		}
	}
	switch {
	case clearly(measure.StrengthChange), probably >= b.p.Recheck.WorseTests.Int(), measure.AllLower(changes) > 0 && !b.allEven():
		return AfterFall
	case clearly(measure.RangeChange):
		return AfterRangeFall
	}
	return NotSooner
}

// sinceLast are the changes of strength and active range of the involved side from the
// session before to the latest.
func (b *builder) sinceLast() (changes []*measure.Change) {
	at := b.episode.Latest()
	for i := range b.m.Changes {
		k := &b.m.Changes[i]
		counts := k.Subject == measure.StrengthChange || k.Subject == measure.RangeChange && k.Active
		if counts && at >= 0 && k.Against == measure.Previous && k.Side == b.episode.Involved &&
			measure.DaysBetween(k.ToWhen, b.episode.Sessions[at].When) == 0 {
			changes = append(changes, k)
		}
	}
	return changes
}

// allEven reports whether every test was even in the latest session.
func (b *builder) allEven() bool {
	for i := range b.r.Trained() {
		r := &b.r.Motions[i]
		if slices.ContainsFunc(r.Positions[:], func(p readiness.PositionReadiness) bool { return p.Even.Verdict != readiness.Met }) {
			return false
		}
	}
	return true
}
