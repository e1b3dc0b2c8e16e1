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
// real change, against an earlier session of the last weeks.
func (f *finder) rangeLoss() {
	var worst Flag
	for _, movement := range elevations {
		now := f.latestRange(movement, true)
		if now == nil {
			continue
		}
		for i := range f.m.Ranges {
			then := &f.m.Ranges[i]
			if !f.isEarlier(then, now) {
				continue
			}
			fall := then.Degrees.Sub(now.Degrees)
			if f.p.RedFlag.RangeFall.Met(fall) && measure.RangeChangeThreshold(now, then, f.p).Met(fall) && fall.Cmp(worst.fall()) > 0 {
				worst = f.lossOfRange(now, then)
			}
		}
	}
	if !worst.Now.When.IsZero() {
		f.add(worst)
	}
}

// fall is what was lost, 0 for no flag.
func (f *Flag) fall() exact.Number { return f.Then.Value.Sub(f.Now.Value) }

// isEarlier reports whether a range is of the same movement in an earlier session
// of the last weeks.
func (f *finder) isEarlier(then, now *measure.RangeScore) bool {
	return then.Session < now.Session && then.Movement == now.Movement && then.Side == now.Side && then.Active == now.Active &&
		then.Position == now.Position && f.recent(then.When, now.When)
}

func (f *finder) lossOfRange(now, then *measure.RangeScore) Flag {
	return Flag{
		Code: RangeLoss, Movement: now.Movement, Now: degrees(now), Then: degrees(then),
		Threshold: f.p.RedFlag.RangeFall, Sources: measure.Union(now.Sources, then.Sources),
	}
}

func degrees(r *measure.RangeScore) Reading { return Reading{r.Degrees, "deg", r.When} }

// latestRange is the latest current range of a movement of the involved side.
func (f *finder) latestRange(movement shoulder.Movement, active bool) *measure.RangeScore {
	if r := f.m.LatestRange(movement, f.episode.Involved, active); r != nil && f.current(r.When) {
		return r
	}
	return nil
}

// cannotLift finds an arm that does not reach shoulder height by itself although it
// is free to move, or whose external rotation is weak as well. While a repair is
// not to be loaded an arm is not expected to lift.
func (f *finder) cannotLift() {
	state := healing.At(f.episode, f.p, f.asOf)
	if state.Repair != nil && state.Phase == shoulder.LoadNone {
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

// weakExternal is the lowest current index of external rotation that is under the
// limit, of the latest session that has one.
func (f *finder) weakExternal() *measure.Symmetry {
	var lowest *measure.Symmetry
	for i := len(f.m.Symmetries) - 1; i >= 0 && f.current(f.m.Symmetries[i].When); i-- {
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
