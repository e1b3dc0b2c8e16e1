package redflag

import (
	"time"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// LiftUnknown is the active elevation of the involved side that may be an arm that cannot
// be lifted, and of which nobody can tell, because the passive range of the movement is
// not known: it does not reach shoulder height, and no clinician has cleared the shoulder
// since. It is nil if there is none, or no arm is expected to lift.
func LiftUnknown(e *shoulder.Episode, m *measure.Measurements, p *protocol.Protocol, asOf time.Time) *measure.RangeScore {
	f := finder{episode: e, m: m, p: p, asOf: asOf, side: e.Involved}
	for _, movement := range elevations {
		active := m.LatestRange(movement, e.Involved, true, p)
		if active != nil && measure.Current(active.When, asOf, p) && p.RedFlag.Elevation.Met(active.Degrees) &&
			f.shouldLift(active, true) && f.examined(active.When) == nil && !f.passiveKnown(active) {
			return active
		}
	}
	return nil
}

// passiveKnown reports whether the passive range of a movement was measured no longer before
// an active one, or after it, than a measurement decides.
func (f *finder) passiveKnown(active *measure.RangeScore) bool {
	for _, r := range f.ranges(active.Movement, false) {
		if laterDay(active.When, r.When) || measure.Current(r.When, active.When, f.p) {
			return true
		}
	}
	return false
}
