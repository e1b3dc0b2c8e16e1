package redflag

import (
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// elevations are the movements that lift the arm.
var elevations = [...]shoulder.Movement{shoulder.Flexion, shoulder.Abduction}

// rangeLoss finds active elevation that fell by many degrees, and by more than a
// real change, against an earlier session of the last weeks: now, or in an earlier
// session if no later one shows the range regained. The larger loss is shown.
func (f *finder) rangeLoss() {
	var losses []Flag
	for _, movement := range elevations {
		if loss, found := f.lossOfMovement(f.ranges(movement, true)); found {
			losses = append(losses, loss)
		}
	}
	slices.SortStableFunc(losses, func(a, b Flag) int { return b.fall().Cmp(a.fall()) })
	f.addFirst(losses)
}

// lossOfMovement is the deepest loss of the latest session that shows one.
func (f *finder) lossOfMovement(course []*measure.RangeScore) (worst Flag, found bool) {
	for i, now := range slices.Backward(course) {
		if !f.lessRangeThanExamined(course[:i], now) {
			continue
		}
		for _, then := range course[:i] {
			if f.recent(then.When, now.When) && f.fellShort(now, then) && !f.reachedAgain(laterDays(course[i+1:], now.When, whenReached), then) && then.Degrees.Sub(now.Degrees).Cmp(worst.fall()) > 0 {
				worst, found = f.lossOfRange(now, then), true
				worst.Since = since(worst.Now, degrees(course[len(course)-1]))
			}
		}
		if found {
			break
		}
	}
	return worst, found
}

// lessRangeThanExamined reports whether a range is less by a real change than it was when
// the shoulder was examined, or at any time since; also if it was examined itself, or was
// not measured then. The range that was examined is no new loss when it is measured again.
func (f *finder) lessRangeThanExamined(before []*measure.RangeScore, now *measure.RangeScore) bool {
	if f.examined(now.When) != nil {
		return true
	}
	for _, r := range slices.Backward(before) {
		if measure.RangeChangeThreshold(now, r, f.p).Met(r.Degrees.Sub(now.Degrees)) {
			return true
		}
		if f.examined(r.When) != nil {
			return false
		}
	}
	return true
}

// reachedAgain reports whether a later range is no real change from what it was before.
// Range that came back in part is still lost.
func (f *finder) reachedAgain(since []*measure.RangeScore, then *measure.RangeScore) bool {
	return slices.ContainsFunc(since, func(r *measure.RangeScore) bool {
		return !measure.RangeChangeThreshold(r, then, f.p).Met(then.Degrees.Sub(r.Degrees))
	})
}

// fellShort reports whether a range is less than another by many degrees.
func (f *finder) fellShort(now, then *measure.RangeScore) bool {
	fall := then.Degrees.Sub(now.Degrees)
	return f.p.RedFlag.RangeFall.Met(fall) && measure.RangeChangeThreshold(now, then, f.p).Met(fall)
}

// fall is what was lost, 0 for no flag.
func (f *Flag) fall() exact.Number { return f.Then.Value.Sub(f.Now.Value) }

func (f *finder) lossOfRange(now, then *measure.RangeScore) Flag {
	return Flag{
		Code: RangeLoss, Movement: now.Movement, Now: degrees(now), Then: degrees(then),
		Threshold: f.p.RedFlag.RangeFall, Sources: measure.Union(now.Sources, then.Sources),
	}
}

func whenReached(r *measure.RangeScore) time.Time { return r.When }

func degrees(r *measure.RangeScore) Measured { return Measured{r.Degrees, "deg", r.When} }

// ranges is a movement of the shoulder in the latest sessions that measured it, oldest
// first.
func (f *finder) ranges(movement shoulder.Movement, active bool) (course []*measure.RangeScore) {
	for i := range f.m.Ranges {
		if r := &f.m.Ranges[i]; r.Movement == movement && r.Side == f.side && r.Active == active {
			course = append(course, r)
		}
	}
	return course[max(0, len(course)-mostSessions):]
}

// cannotLift finds an arm that does not reach shoulder height by itself although it
// is free to move, or whose external rotation is weak as well: now, or in an earlier
// session if no later one shows that it lifts again.
func (f *finder) cannotLift() {
	var found []Flag
	for _, movement := range elevations {
		course := f.ranges(movement, true)
		for i, active := range slices.Backward(course) {
			if !f.p.RedFlag.Elevation.Met(active.Degrees) || !f.shouldLift(active, i+1 == len(course)) || f.liftsAgain(course, i) {
				continue
			}
			if flag, is := f.freeOrWeak(active, course[i+1:]); is {
				flag.Since = since(flag.Now, degrees(course[len(course)-1]))
				found = append(found, flag)
				break
			}
		}
	}
	f.addFirst(found)
}

// shouldLift reports whether the arm is expected to lift: not while a repair is not to
// be loaded. What was measured before a repair the surgeon has seen.
func (f *finder) shouldLift(active *measure.RangeScore, latest bool) bool {
	if f.side != f.episode.Involved {
		return true
	}
	now := healing.At(f.episode, f.p, f.asOf)
	if now.Repair == nil || latest {
		return now.Repair == nil || now.Phase != shoulder.LoadNone
	}
	then := healing.At(f.episode, f.p, active.When)
	return then.Repair != nil && then.Repair.Date.Equal(now.Repair.Date) && then.Phase != shoulder.LoadNone
}

// liftsAgain reports whether a later range is a real change above shoulder height, or
// reaches it and is no real change from what it was before.
func (f *finder) liftsAgain(course []*measure.RangeScore, low int) bool {
	limit := f.p.RedFlag.Elevation
	var before *measure.RangeScore
	for _, r := range course[:low] {
		if !limit.Met(r.Degrees) {
			before = r
		}
	}
	return slices.ContainsFunc(laterDays(course[low+1:], course[low].When, whenReached), func(r *measure.RangeScore) bool {
		asBefore := before != nil && !limit.Met(r.Degrees) && f.reachedAgain([]*measure.RangeScore{r}, before)
		return asBefore || measure.RangeChangeThreshold(r, course[low], f.p).Met(r.Degrees.Sub(limit.Value))
	})
}

// freeOrWeak is the flag of an arm that does not reach shoulder height, if it moves
// freely or its external rotation is weak. What was measured with a later range is
// about that one.
func (f *finder) freeOrWeak(active *measure.RangeScore, since []*measure.RangeScore) (Flag, bool) {
	until := len(f.episode.Sessions)
	if len(since) > 0 {
		until = since[0].Session
	}
	flag := Flag{Code: CannotLift, Movement: active.Movement, Now: degrees(active), Threshold: f.p.RedFlag.Elevation}
	if passive := f.freePassive(active, until); passive != nil {
		flag.Then, flag.Sources = degrees(passive), measure.Union(active.Sources, passive.Sources)
		return flag, true
	}
	if weak := f.weakBeside(active, until); weak != nil {
		flag.Motion, flag.Position = weak.Motion, weak.Position
		flag.Then, flag.Sources = Measured{weak.Index, "%", weak.When}, measure.Union(active.Sources, weak.Sources())
		return flag, true
	}
	return Flag{}, false
}

// freePassive is the passive range beside an active one, known before a session, if it is much more; nil if not. What was
// known when the active range was measured is ended by a later day only: a range of the same day contradicts it.
func (f *finder) freePassive(active *measure.RangeScore, until int) *measure.RangeScore {
	isFree := func(r *measure.RangeScore) bool {
		return r != nil && f.p.RedFlag.PassiveExcess.Met(r.Degrees.Sub(active.Degrees))
	}
	passive := f.passiveUntil(active.Movement, until)
	if passive != nil && !isFree(passive) && !laterDay(active.When, passive.When) {
		passive = f.passiveUntil(active.Movement, active.Session+1)
	}
	if isFree(passive) {
		return passive
	}
	return nil
}

// weakBeside is the external rotation that is weak beside an active range, known before a session; nil if none is. An index
// of the same day ends it no more than a passive range does. A low index says nothing of the comparison side.
func (f *finder) weakBeside(active *measure.RangeScore, until int) *measure.Symmetry {
	if f.side != f.episode.Involved {
		return nil
	}
	isWeak := func(s *measure.Symmetry) bool { return s != nil && f.p.RedFlag.WeakExternal.Met(s.Index) }
	external := f.lowestExternal(until)
	if external != nil && !isWeak(external) && !laterDay(active.When, external.When) {
		external = f.lowestExternal(active.Session + 1)
	}
	if isWeak(external) {
		return external
	}
	return nil
}

// passiveUntil is the latest passive range of a movement before a session, of one day the
// largest.
func (f *finder) passiveUntil(movement shoulder.Movement, session int) (latest *measure.RangeScore) {
	for _, r := range f.ranges(movement, false) {
		if r.Session < session && (latest == nil || laterDay(latest.When, r.When) || r.Degrees.Cmp(latest.Degrees) > 0) {
			latest = r
		}
	}
	return latest
}

// lowestExternal is the lowest index of external rotation of the latest day that has one before a session.
func (f *finder) lowestExternal(until int) (lowest *measure.Symmetry) {
	for i := len(f.m.Symmetries) - 1; i >= 0; i-- {
		s := &f.m.Symmetries[i]
		if s.Motion != shoulder.External || s.Session >= until {
			continue
		}
		if lowest != nil && laterDay(s.When, lowest.When) {
			break
		}
		if lowest == nil || s.Index.Cmp(lowest.Index) < 0 {
			lowest = s
		}
	}
	return lowest
}
