package measure

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// BeforeChange is the strength before the way of testing changed to that of a latest one,
// of the weeks in which a loss counts as sudden; nil if it did not change then, or the
// former strength is of another dimension.
func (m *Measurements) BeforeChange(now *Score, p *protocol.Protocol) *Score {
	for i := range m.Scores {
		s := &m.Scores[i]
		if s.test() != now.test() {
			continue
		}
		then := s.Unlike
		if then == nil || then.Dimension != now.Dimension || !p.RedFlag.Window.Met(exact.Int(int64(DaysBetween(then.When, now.When)))) {
			return nil
		}
		return then
	}
	return nil
}

// findUnlike sets Score.Unlike of the scores whose motion and position were tested
// before, but never in the same way: a change of the test could hide a loss.
func findUnlike(scores []Score) {
	type testedPosition struct {
		side     shoulder.Side
		motion   shoulder.Motion
		position shoulder.ArmPosition
	}
	latest, tested := map[testedPosition]*Score{}, map[scoreTest]bool{}
	for rest := scores; len(rest) > 0; {
		n := 1
		for n < len(rest) && rest[n].Session == rest[0].Session {
			n++
		}
		for i := range rest[:n] {
			if s := &rest[i]; !tested[s.test()] {
				s.Unlike = latest[testedPosition{s.Side, s.Motion, s.Position}]
			}
		}
		for i := range rest[:n] {
			s := &rest[i]
			tested[s.test()], latest[testedPosition{s.Side, s.Motion, s.Position}] = true, s
		}
		rest = rest[n:]
	}
}
