package redflag

import (
	"time"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// OtherCannotLift is the flag of the comparison shoulder that cannot be lifted although it is free
// to move, by the rule and the limits of the involved one; nil if it can, if a clinician has
// examined it since, or if there is no unaffected side, where Find looks at both. It is no red
// flag of the involved shoulder: it says that the other one is none to be even with.
func OtherCannotLift(e *shoulder.Episode, m *measure.Measurements, p *protocol.Protocol, asOf time.Time) *Flag {
	f := finder{episode: e, m: m, p: p, asOf: asOf, side: e.Involved.Other()}
	if e.ComparisonAffected {
		return nil
	}
	f.cannotLift()
	for i := range f.flags {
		if f.flags[i].Holds() {
			return &f.flags[i]
		}
	}
	return nil
}
