package readiness

import (
	"evenreach.example/internal/measure"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// movements are those of which ranges are held against each other.
var movements = [...]shoulder.Movement{shoulder.Flexion, shoulder.Abduction, shoulder.ExternalRotation, shoulder.InternalRotation}

// disagreeingRanges are the ranges of the involved side, active and passive, that were measured
// several times on their latest day and differ by more than a real change: one of them is a slip,
// and nobody knows which. The least active range decides meanwhile. It ends when the movement
// is measured on another day.
func (j *judge) disagreeingRanges() (all []Concern) {
	for _, movement := range movements {
		for _, active := range [...]bool{true, false} {
			d := j.m.LatestRangeOfDay(movement, j.episode.Involved, active, j.p)
			if d.Latest == nil || !d.Disagree || !j.current(d.Latest.When) {
				continue
			}
			all = append(all, Concern{
				Kind: RangesDisagree, Movement: movement, Active: active, Side: j.episode.Involved,
				Then: redflag.Measured{Value: d.Most, Unit: "deg", When: d.Latest.When}, Now: redflag.Measured{Value: d.Least, Unit: "deg", When: d.Latest.When},
			})
		}
	}
	return all
}

// contradictingRanges are the movements of the involved side whose latest active range is
// more than the passive one of that day, by more than both can be wrong: nobody lifts the
// arm further than it can be moved. One of the two is a slip, and nobody knows which. It
// ends when the movement is measured again.
func (j *judge) contradictingRanges() (all []Concern) {
	for _, movement := range movements {
		active := j.activeRange(movement, j.episode.Involved)
		if active == nil {
			continue
		}
		if passive := j.passiveOfDay(active); passive != nil && measure.RangeChangeThreshold(active, passive, j.p).Met(active.Degrees.Sub(passive.Degrees)) {
			all = append(all, Concern{Kind: RangesContradict, Movement: movement, Side: active.Side, Then: inDegrees(passive), Now: inDegrees(active)})
		}
	}
	return all
}

// passiveUnknown is a low active elevation whose passive range nobody measured: an arm that cannot be lifted cannot be told from a stiff one.
func (j *judge) passiveUnknown() []Concern {
	low := redflag.LiftUnknown(j.episode, j.m, j.p, j.asOf)
	if low == nil {
		return nil
	}
	return []Concern{{Kind: PassiveUnknown, Movement: low.Movement, Side: low.Side, Now: inDegrees(low)}}
}

// passiveOfDay is the least passive range of the movement, in the same position, of the day
// of an active one; nil if there is none.
func (j *judge) passiveOfDay(active *measure.RangeScore) (least *measure.RangeScore) {
	for i := range j.m.Ranges {
		r := &j.m.Ranges[i]
		same := r.Movement == active.Movement && r.Side == active.Side && !r.Active && r.Position == active.Position
		if same && measure.DaysBetween(r.When, active.When) == 0 && (least == nil || r.Degrees.Cmp(least.Degrees) < 0) {
			least = r
		}
	}
	return least
}
