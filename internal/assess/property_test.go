package assess

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

func drawEpisode(t *rapid.T) *shoulder.Episode {
	visits := make([]shouldertest.Visit, rapid.IntRange(1, 4).Draw(t, "visits"))
	for i := range visits {
		draw := func(low, high int, label string) string { return fmt.Sprint(rapid.IntRange(low, high).Draw(t, label)) }
		visits[i] = shouldertest.Visit{
			Day: 14 * i, Flexion: draw(60, 180, "flexion"), Abduction: draw(60, 180, "abduction"), Pain: draw(0, 10, "pain"),
		}
		for k := range 3 {
			visits[i].ER[k], visits[i].IR[k] = draw(40, 130, "er"), draw(40, 130, "ir")
		}
	}
	return shouldertest.Episode(visits...)
}

// verdict is what a reader would call the answer.
func verdict(e *shoulder.Episode) string {
	a := Assess(e, protocol.Default(), e.Sessions[len(e.Sessions)-1].When)
	text := a.Readiness.Overall.String()
	for i := range a.Readiness.Rotations {
		r := &a.Readiness.Rotations[i]
		text += " " + r.Step.String()
		for k := range r.Positions {
			for _, c := range r.Positions[k].Criteria() {
				text += fmt.Sprint(" ", c.Rule, c.Verdict, c.Certainty, c.Basis, c.Value)
			}
		}
	}
	return text + fmt.Sprint(len(a.Plan.Exercises), len(a.Plan.Requests), len(a.Plan.Goals))
}

func TestOrderWithinASessionDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEpisode(t)
		want := verdict(e)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		for i := range e.Sessions {
			s := &e.Sessions[i]
			rng.Shuffle(len(s.Trials), func(a, b int) { s.Trials[a], s.Trials[b] = s.Trials[b], s.Trials[a] })
			rng.Shuffle(len(s.Ranges), func(a, b int) { s.Ranges[a], s.Ranges[b] = s.Ranges[b], s.Ranges[a] })
		}
		if got := verdict(e); got != want {
			t.Fatalf("shuffled: %s\nbefore: %s", got, want)
		}
	})
}

// A clinic elsewhere, with the same wall clock, gets the same answer.
func TestTimeZoneDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEpisode(t)
		want := verdict(e)
		zone := time.FixedZone("", 60*rapid.IntRange(-12*60, 14*60).Draw(t, "minutes east"))
		for i := range e.Sessions {
			w := e.Sessions[i].When
			e.Sessions[i].When = time.Date(w.Year(), w.Month(), w.Day(), w.Hour(), w.Minute(), 0, 0, zone)
		}
		if got := verdict(e); got != want {
			t.Fatalf("in %v: %s\nbefore: %s", zone, got, want)
		}
	})
}

// Ready is never said with a gate closed or a position unconfirmed.
func TestReadyMeansEverythingIsConfirmed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEpisode(t)
		r := Assess(e, protocol.Default(), e.Sessions[len(e.Sessions)-1].When).Readiness
		if r.Overall != readiness.ReadyForFunctional {
			return
		}
		for i := range r.Rotations {
			for k := range r.Rotations[i].Positions {
				p := &r.Rotations[i].Positions[k]
				if p.Confirmed.Verdict != readiness.Met || p.Pain.Verdict == readiness.NotMet || p.RangeVerdict() == readiness.NotMet {
					t.Fatalf("ready with %v %v: %+v", r.Rotations[i].Rotation, p.Position, p)
				}
			}
		}
	})
}

// The published single patient stands at the side with both rotations.
func Example() {
	e := shouldertest.Episode(shouldertest.Visit{
		ER: [3]string{"50"}, IR: [3]string{"47.12"}, Flexion: "100", Abduction: "90", Pain: "4",
	})
	a := Assess(e, protocol.Default(), e.Sessions[0].When)
	fmt.Println(a.Readiness.Overall)
	for _, r := range a.Readiness.Rotations {
		fmt.Println(r.Rotation, r.Step)
	}
	// Output:
	// limited-by-range
	// external arm-at-side
	// internal arm-at-side
}
