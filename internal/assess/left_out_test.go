package assess

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// drawReady draws a course that ends ready for functional work.
func drawReady(t *rapid.T) *shoulder.Episode {
	number := func(low, high int, label string) string { return fmt.Sprint(rapid.IntRange(low, high).Draw(t, label)) }
	apart := rapid.IntRange(7, 42).Draw(t, "days apart")
	visits := make([]shouldertest.Visit, rapid.IntRange(2, 3).Draw(t, "visits"))
	steady := rapid.SampledFrom([][]shoulder.ArmPosition{nil, {shoulder.Abduction90}, {shoulder.Flexion90, shoulder.Abduction90}}).Draw(t, "steady")
	for i := range visits {
		visits[i] = shouldertest.Visit{
			Day: apart * i, Steady: steady, Flexion: number(160, 178, "flexion"), Abduction: number(160, 178, "abduction"),
			Pain: number(0, 3, "pain in the test"), RestPain: number(0, 3, "pain at rest"), WorstPain: number(3, 5, "worst pain"),
		}
		least := 100 // of the visits that have to make evenness likely
		if i == len(visits)-1 {
			least = 93
		}
		for k := range 3 {
			visits[i].ER[k], visits[i].IR[k] = number(least, 106, "external"), number(least, 106, "internal")
		}
	}
	return shouldertest.Episode(visits...)
}

// spoil makes one value of a session too bad for functional work, and returns how to
// leave it out: what may happen when somebody does not like a number.
func spoil(t *rapid.T, s *shoulder.Session) (leaveOut func()) {
	kinds := []string{"test", "range", "pain", "steady"}
	if len(s.Steady) == 0 {
		kinds = kinds[:3]
	}
	switch rapid.SampledFrom(kinds).Draw(t, "spoil") {
	case "steady":
		i := rapid.IntRange(0, len(s.Steady)-1).Draw(t, "which position")
		s.Steady[i].Steady = false
		return func() { s.Steady = slices.Delete(s.Steady, i, i+1) }
	case "test":
		x := drawTrial(t, s, func(x *shoulder.Trial) bool { return x.Side == shoulder.Right })
		x.Value = exact.Int(int64(rapid.IntRange(0, 80).Draw(t, "force")))
		test := testOfTrial(x)
		return func() {
			s.Trials = slices.DeleteFunc(s.Trials, func(x shoulder.Trial) bool { return testOfTrial(&x) == test })
		}
	case "range":
		i := rapid.IntRange(0, len(s.Ranges)-1).Draw(t, "which range")
		s.Ranges[i].Degrees = exact.Int(int64(rapid.IntRange(0, 134).Draw(t, "degrees")))
		return func() { s.Ranges = slices.Delete(s.Ranges, i, i+1) }
	}
	i, least := rapid.IntRange(0, len(s.Pains)-1).Draw(t, "which pain"), 4
	if s.Pains[i].Context == shoulder.PainWorst24h {
		least = 8
	}
	s.Pains[i].Score = exact.Int(int64(rapid.IntRange(least, 10).Draw(t, "score")))
	return func() { s.Pains = slices.Delete(s.Pains, i, i+1) }
}

// Leaving the one bad value of the latest session out gains nothing.
func TestABadValueLeftOutIsNotReady(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawReady(t)
		if o := assessed(e).Readiness.Overall; o != readiness.ReadyForFunctional {
			t.Fatalf("overall = %v before anything is spoilt", o)
		}
		leaveOut := spoil(t, latest(e))
		if o := assessed(e).Readiness.Overall; o == readiness.ReadyForFunctional {
			t.Fatal("ready with the bad value")
		}
		leaveOut()
		if o := assessed(e).Readiness.Overall; o == readiness.ReadyForFunctional {
			t.Fatal("ready without the bad value")
		}
	})
}

// Once it was noted whether the arm stays still in a position, however long ago and whatever
// the note said, no later session is ready without the same note: neither the bad answer of
// today nor an old one is left behind by not asking again.
func TestASteadyArmIsNotedAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawReady(t)
		position := rapid.SampledFrom([]shoulder.ArmPosition{shoulder.Flexion90, shoulder.Abduction90}).Draw(t, "position")
		ofPosition := func(x shoulder.Steadiness) bool { return x.Position == position }
		for i := range e.Sessions {
			e.Sessions[i].Steady = slices.DeleteFunc(e.Sessions[i].Steady, ofPosition)
		}
		if o := assessed(e).Readiness.Overall; o != readiness.ReadyForFunctional {
			t.Fatalf("overall = %v where it was never noted in the position", o)
		}
		s := &e.Sessions[rapid.IntRange(0, len(e.Sessions)-2).Draw(t, "noted in")]
		s.Steady = append(s.Steady, shoulder.Steadiness{
			Source: shouldertest.Next(), Position: position, Side: shoulder.Right, Steady: rapid.Bool().Draw(t, "still"),
		})
		if o := assessed(e).Readiness.Overall; o == readiness.ReadyForFunctional {
			t.Fatal("ready without the note of the latest session")
		}
	})
}
