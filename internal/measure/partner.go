package measure

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// partners are the comparison side's scores up to a session, of which only the
// latest can become a partner: if it is too old, the ones before it are as well.
type partners struct {
	latest map[symmetryTest]*Score // of each test
	// nearest is the latest score of a rotation in a position, whatever the rest
	// of its setting.
	nearest [shoulder.Internal + 1][shoulder.Abduction90 + 1]*Score
}

// add adds a score. Scores come in the order of the sessions.
func (c *partners) add(s *Score) {
	c.latest[symmetryTest{s.Setting, s.Dimension}] = s
	c.nearest[s.Rotation][s.Position] = s
}

// partnerOf returns the partner of a score and matched, or the nearest miss and
// why it does not match.
func (c *partners) partnerOf(involved *Score, p *protocol.Protocol) (*Score, Mismatch) {
	if s := c.sameTest(involved); s != nil && isYoungEnough(s, involved, p) {
		return s, matched
	}
	nearest := c.nearest[involved.Rotation][involved.Position]
	if nearest == nil {
		return nil, NoComparison
	}
	if why := mismatch(involved, nearest); why != matched {
		return nearest, why
	}
	return nearest, TooOld
}

// sameTest is the latest score that matches, nil if there is none. Of two in one
// session that of the involved score's own dimension is taken.
func (c *partners) sameTest(involved *Score) *Score {
	other := shoulder.Force
	if involved.Dimension == shoulder.Force {
		other = shoulder.Torque
	}
	found := c.latest[symmetryTest{involved.Setting, involved.Dimension}]
	converted := c.latest[symmetryTest{involved.Setting, other}]
	if converted != nil && mismatch(involved, converted) == matched && (found == nil || converted.Session > found.Session) {
		return converted
	}
	return found
}

func isYoungEnough(s, involved *Score, p *protocol.Protocol) bool {
	return p.Pairing.CarryForward.Met(exact.Int(int64(daysBefore(s, involved))))
}
