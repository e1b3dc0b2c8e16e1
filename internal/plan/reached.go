package plan

import (
	"slices"

	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// Reached reports whether a goal that is not among those of today is met now, so that it
// is no longer aimed at because it was reached, and not because something else goes
// before it. A goal about several positions is always aimed at while there is training,
// so it is never found reached here.
func Reached(r *readiness.Readiness, g *Goal) bool {
	if !r.Tissue.Open() || r.Examine() {
		return false
	}
	switch g.Aim {
	case AimPain:
		return slices.ContainsFunc(r.Gates(), func(at readiness.PositionReadiness) bool { return at.Pain.Verdict == readiness.Met })
	case AimRange:
		for i := range r.Gates() {
			if at := &r.Gates()[i]; len(g.Targets) > 0 && at.Position.Elevated() && at.Position.Elevation() == g.Targets[0].Movement {
				return at.RangeVerdict() == readiness.Met
			}
		}
		return false
	case AimGoodEnough, AimEven:
		return reachedWhereItWorks(r, g)
	}
	return false
}

// reachedWhereItWorks reports whether the rotation of a goal meets its threshold in
// the position in which it is trained now, or is past all positions.
func reachedWhereItWorks(r *readiness.Readiness, g *Goal) bool {
	for i := range r.Trained() {
		of := &r.Motions[i]
		position := of.Working()
		switch {
		case of.Motion != g.Motion:
			continue
		case position == shoulder.PositionUnstated:
			return of.AllConfirmed()
		case g.Aim == AimEven:
			return of.At(position).Even.Verdict == readiness.Met
		}
		return of.At(position).GoodEnough.Verdict == readiness.Met
	}
	return false
}
