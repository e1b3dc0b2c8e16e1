package measure

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

func pooled(sessions ...shoulder.Session) Pooled {
	p := protocol.Default()
	m := measured(sessions...)
	var pool Pool
	for i := range m.Symmetries {
		pool.Next(&m.Symmetries[i], p)
	}
	return pool.Pooled(p)
}

func TestPool(t *testing.T) {
	pair := func(day int, involved string) shoulder.Session {
		return on(day, trial(right, involved), trial(left, "100"))
	}
	one := pooled(pair(0, "80"))
	// Two sides of one trial each, by the delta method: 2 x 10 %^2 x (0.75 + 0.25 x 3/1).
	const variance = 2 * 0.01 * 1.5
	spread := math.Sqrt(variance)
	near(t, "one session is itself", one.Index, 80, 1e-9, "definition")
	near(t, "its interval", one.High, 80*math.Exp(1.644854*spread), 1e-4, "log-normal, by hand")

	same := pooled(pair(0, "80"), pair(0, "90"))
	near(t, "two of one day are averaged", same.Index, math.Sqrt(80*90), 1e-9, "equal weights on the logarithm")
	near(t, "with half the variance", same.High, math.Sqrt(80*90)*math.Exp(1.644854*spread/math.Sqrt2), 1e-4, "variance of a mean of two")

	// Gain after two weeks: (r + 2 d^2) / (2 r + 2 d^2), d = 0.04.
	drift := 2 * 0.04 * 0.04
	gain := (variance + drift) / (2*variance + drift)
	later := pooled(pair(0, "80"), pair(14, "90"))
	near(t, "the later session weighs more", later.Index, 80*math.Pow(90.0/80, gain), 1e-9, "Kalman gain by hand")
}

func TestMoreEvidenceNeverWidensThePool(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sessions := []shoulder.Session{on(0, trial(right, drawForce(t, "first")), trial(left, "100"))}
		before := pooled(sessions...)
		for range rapid.IntRange(1, 4).Draw(t, "more") {
			sessions = append(sessions, on(0, trial(right, drawForce(t, "next")), trial(left, "100")))
		}
		after := pooled(sessions...)
		if math.Log(after.High/after.Low) > math.Log(before.High/before.Low)+1e-12 {
			t.Fatalf("%+v is wider than %+v", after, before)
		}
	})
}
