package measure

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// partners holds the latest comparison side's score of each test up to a session: if that
// is too old to be compared with, so are the ones before it.
type partners struct {
	latest map[symmetryTest]*Score // of each test
	// doubted are scores in doubt, which decide nothing: they are compared only with the
	// involved side of their own session.
	doubted map[symmetryTest]*Score
	// nearest is the latest score of a motion in a position, in any setting.
	nearest [len(shoulder.Motions) + 1][len(shoulder.Positions) + 1]*Score
}

func newPartners() partners {
	return partners{latest: map[symmetryTest]*Score{}, doubted: map[symmetryTest]*Score{}}
}

// add adds a score. Scores come in the order of the sessions.
func (c *partners) add(s *Score) {
	if s.Doubts.Block() {
		c.doubted[symmetryTest{s.Setting, s.Dimension}] = s
		return
	}
	c.latest[symmetryTest{s.Setting, s.Dimension}] = s
	c.nearest[s.Motion][s.Position] = s
}

// partnerOf returns the score to compare with and matched, or the nearest score and why it
// does not match.
func (c *partners) partnerOf(involved *Score, p *protocol.Protocol) (*Score, Mismatch) {
	if s := c.sameTest(involved); s != nil && isYoungEnough(s, involved, p) {
		return s, matched
	}
	nearest := c.nearest[involved.Motion][involved.Position]
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
	found := c.ofTest(symmetryTest{involved.Setting, involved.Dimension}, involved.Session)
	converted := c.ofTest(symmetryTest{involved.Setting, other}, involved.Session)
	if converted != nil && mismatch(involved, converted) == matched && (found == nil || converted.Session > found.Session) {
		return converted
	}
	return found
}

// ofTest is the score of a test to compare with one of a session.
func (c *partners) ofTest(test symmetryTest, session int) *Score {
	if s := c.doubted[test]; s != nil && s.Session == session {
		return s
	}
	return c.latest[test]
}

func isYoungEnough(s, involved *Score, p *protocol.Protocol) bool {
	return p.Pairing.CarryForward.Met(exact.Int(int64(daysBefore(s, involved))))
}
