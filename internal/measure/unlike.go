package measure

import "evenreach.example/internal/shoulder"

// findUnlike sets Score.Unlike of the scores whose rotation and position were tested
// before, but never in the same way: a change of the test could hide a loss.
func findUnlike(scores []Score) {
	type testedPosition struct {
		side     shoulder.Side
		rotation shoulder.Rotation
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
				s.Unlike = latest[testedPosition{s.Side, s.Rotation, s.Position}]
			}
		}
		for i := range rest[:n] {
			s := &rest[i]
			tested[s.test()], latest[testedPosition{s.Side, s.Rotation, s.Position}] = true, s
		}
		rest = rest[n:]
	}
}
