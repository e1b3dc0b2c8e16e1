package redflag

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// elevations are the movements that lift the arm.
var elevations = [...]shoulder.Movement{shoulder.Flexion, shoulder.Abduction}

// rangeLoss finds active elevation that fell by many degrees, and by more than a
// real change, against an earlier session of the last weeks: now, or in an earlier
// session if no later one shows the range regained.
func (f *finder) rangeLoss() {
	var worst Flag
	for _, movement := range elevations {
		if loss, found := f.lossOfMovement(movement); found && loss.fall().Cmp(worst.fall()) > 0 {
			worst = loss
		}
	}
	if !worst.Now.When.IsZero() {
		f.add(worst)
	}
}

// lossOfMovement is the deepest loss of the latest session that shows one.
func (f *finder) lossOfMovement(movement shoulder.Movement) (worst Flag, found bool) {
	latest := f.latestRange(movement, true)
	looked := 0
	for i := len(f.m.Ranges) - 1; i >= 0 && latest != nil && !found && looked < mostSessions; i-- {
		now := &f.m.Ranges[i]
		if !sameRange(now, latest) {
			continue
		}
		looked++
		for k := range f.m.Ranges[:i] {
			then := &f.m.Ranges[k]
			if f.isEarlier(then, now) && f.fellShort(now, then) && f.fellShort(latest, then) && then.Degrees.Sub(now.Degrees).Cmp(worst.fall()) > 0 {
				worst, found = f.lossOfRange(now, then), true
			}
		}
	}
	return worst, found
}

// fellShort reports whether a range is less than another by many degrees.
func (f *finder) fellShort(now, then *measure.RangeScore) bool {
	fall := then.Degrees.Sub(now.Degrees)
	return f.p.RedFlag.RangeFall.Met(fall) && measure.RangeChangeThreshold(now, then, f.p).Met(fall)
}

// fall is what was lost, 0 for no flag.
func (f *Flag) fall() exact.Number { return f.Then.Value.Sub(f.Now.Value) }

// isEarlier reports whether a range is of the same movement in an earlier session
// of the last weeks.
func (f *finder) isEarlier(then, now *measure.RangeScore) bool {
	return then.Session < now.Session && sameRange(then, now) && f.recent(then.When, now.When)
}

func sameRange(a, b *measure.RangeScore) bool {
	return a.Movement == b.Movement && a.Side == b.Side && a.Active == b.Active && a.Position == b.Position
}

func (f *finder) lossOfRange(now, then *measure.RangeScore) Flag {
	return Flag{
		Code: RangeLoss, Movement: now.Movement, Now: degrees(now), Then: degrees(then),
		Threshold: f.p.RedFlag.RangeFall, Sources: measure.Union(now.Sources, then.Sources),
	}
}

func degrees(r *measure.RangeScore) Reading { return Reading{r.Degrees, "deg", r.When} }

// latestRange is the latest range of a movement of the shoulder.
func (f *finder) latestRange(movement shoulder.Movement, active bool) *measure.RangeScore {
	return f.m.LatestRange(movement, f.side, active)
}

// cannotLift finds an arm that does not reach shoulder height by itself although it
// is free to move, or whose external rotation is weak as well. While a repair is
// not to be loaded an arm is not expected to lift.
func (f *finder) cannotLift() {
	state := healing.At(f.episode, f.p, f.asOf)
	if f.side == f.episode.Involved && state.Repair != nil && state.Phase == shoulder.LoadNone {
		return
	}
	for _, movement := range elevations {
		active := f.latestRange(movement, true)
		if active == nil || !f.p.RedFlag.Elevation.Met(active.Degrees) {
			continue
		}
		flag := Flag{Code: CannotLift, Movement: movement, Now: degrees(active), Threshold: f.p.RedFlag.Elevation, Sources: active.Sources}
		passive := f.latestRange(movement, false)
		switch weak := f.weakExternal(); {
		case passive != nil && f.p.RedFlag.PassiveExcess.Met(passive.Degrees.Sub(active.Degrees)):
			flag.Then, flag.Sources = degrees(passive), measure.Union(active.Sources, passive.Sources)
		case weak != nil:
			flag.Rotation, flag.Position = weak.Rotation, weak.Position
			flag.Then, flag.Sources = Reading{weak.Index, "%", weak.When}, measure.Union(active.Sources, weak.Sources())
		default:
			continue
		}
		f.add(flag)
		return
	}
}

// weakExternal is the lowest index of external rotation that is under the
// limit, of the latest session that has one.
func (f *finder) weakExternal() *measure.Symmetry {
	var lowest *measure.Symmetry
	for i := len(f.m.Symmetries) - 1; i >= 0; i-- {
		s := &f.m.Symmetries[i]
		if s.Rotation != shoulder.External {
			continue
		}
		if lowest != nil && s.Session != lowest.Session {
			break
		}
		if lowest == nil || s.Index.Cmp(lowest.Index) < 0 {
			lowest = s
		}
	}
	if lowest == nil || !f.p.RedFlag.WeakExternal.Met(lowest.Index) {
		return nil
	}
	return lowest
}
