package measure

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// sessionContext holds the lever arms, body mass, height and pain that apply to the
// strength tests of a session, from that session and those before it. It only advances, so
// scores are computed in the order of the sessions.
type sessionContext struct {
	episode *shoulder.Episode
	limit   protocol.Threshold // of a test that hurts
	next    int                // the first session that is not read yet

	// levers are the latest lever arms by side; height and mass the latest of the
	// body, in metres and kilograms.
	levers [shoulder.Left + 1]*shoulder.Lever
	height *shoulder.Measured
	mass   *exact.Number
	// hurt says where pain during the test is recorded for the session.
	hurt [shoulder.Left + 1][len(shoulder.Positions) + 1]bool
}

func newSessionContext(e *shoulder.Episode, p *protocol.Protocol) sessionContext {
	return sessionContext{episode: e, limit: p.Error.Painful}
}

// advanceTo advances to a session that is not before the present one.
func (v *sessionContext) advanceTo(session int) {
	for ; v.next <= session; v.next++ {
		s := &v.episode.Sessions[v.next]
		for i := range s.Levers {
			v.setLever(&s.Levers[i])
		}
		if s.Height != nil {
			v.height = s.Height
		}
		if s.Mass != nil {
			v.mass = &s.Mass.Value
		}
		v.findPain(s.Pains)
	}
}

// setLever sets the latest lever arm of its side. One without a side is that of both.
func (v *sessionContext) setLever(lever *shoulder.Lever) {
	if lever.Side != shoulder.SideUnknown {
		v.levers[lever.Side] = lever
		return
	}
	for side := range v.levers {
		v.levers[side] = lever
	}
}

// findPain finds where the tests of a session hurt. Pain without a side is the
// involved shoulder's.
func (v *sessionContext) findPain(pains []shoulder.Pain) {
	clear(v.hurt[:])
	for i := range pains {
		pain := &pains[i]
		if pain.Context != shoulder.PainDuringResistedTest || !v.limit.Met(pain.Score) {
			continue
		}
		side := pain.Side
		if side == shoulder.SideUnknown {
			side = v.episode.Involved
		}
		v.hurt[side][pain.Position] = true
	}
}

// hurts reports whether pain is recorded for a test of a side in a position, or
// for its tests in no stated position.
func (v *sessionContext) hurts(side shoulder.Side, position shoulder.ArmPosition) bool {
	return v.hurt[side][position] || v.hurt[side][shoulder.PositionUnstated]
}
