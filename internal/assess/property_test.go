package assess

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// verdict is what a reader would call the answer.
func verdict(e *shoulder.Episode) string {
	a := assessed(e)
	text := a.Readiness.Overall.String()
	for _, f := range a.Readiness.Flags {
		text += " " + flag(&f)
	}
	for _, d := range a.Readiness.Doubts {
		text += fmt.Sprint(" ", d.Doubt, d.Session, d.Score.Motion, d.Score.Position, d.Apart, d.Sources)
	}
	for _, c := range a.Readiness.Function.Criteria() {
		text += " " + criterion(c)
	}
	for i := range a.Readiness.Motions {
		r := &a.Readiness.Motions[i]
		text += " " + r.Step.String()
		for k := range r.Positions {
			for _, c := range append(r.Positions[k].Gates(), r.Positions[k].Strength()...) {
				text += " " + criterion(c)
			}
		}
	}
	for _, x := range a.Plan.Exercises {
		text += fmt.Sprint(" ", x.Purpose, x.Motion, x.Position, x.Mode, len(x.Cues))
	}
	for _, r := range a.Plan.Requests {
		text += fmt.Sprint(" ", r.Ask, r.Why, r.Motion, r.Position)
	}
	return text + fmt.Sprint(len(a.Plan.Goals), len(a.Plan.Cautions))
}

// flag leaves out which of several inputs is named for the same finding: of grades,
// and of tests that came too soon, the first one is.
func flag(f *redflag.Flag) string {
	switch {
	case f.Grade != shoulder.GradeUnknown, f.Code == redflag.ResistedBeforeClearance:
		return fmt.Sprint(f.Code, f.Now.When.Format(time.DateOnly), f.Holds())
	}
	return fmt.Sprint(f.Code, f.Motion, f.Position, f.Movement, f.Context, f.Now.Value, f.Then.Value, f.Holds(), f.Sources)
}

func criterion(c *readiness.Criterion) string {
	return fmt.Sprint(c.Rule, c.Verdict, c.Certainty, c.Basis, c.Value, c.Sources)
}

func TestOrderWithinASessionDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := shouldertest.Draw(t)
		want := verdict(e)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		for i := range e.Sessions {
			s := &e.Sessions[i]
			shuffle(rng, s.Trials)
			shuffle(rng, s.Ranges)
			shuffle(rng, s.Pains)
			shuffle(rng, s.Grades)
			shuffle(rng, s.Steady)
		}
		if got := verdict(e); got != want {
			t.Fatalf("shuffled: %s\nbefore: %s", got, want)
		}
	})
}

func shuffle[T any](rng *rand.Rand, all []T) {
	rng.Shuffle(len(all), func(a, b int) { all[a], all[b] = all[b], all[a] })
}

// A clinic elsewhere, with the same wall clock, gets the same answer.
func TestTimeZoneDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := shouldertest.Draw(t)
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
		e := shouldertest.Draw(t)
		r := Assess(e, protocol.Default(), e.Sessions[len(e.Sessions)-1].When).Readiness
		if r.Overall != readiness.ReadyForFunctional {
			return
		}
		for i := range r.Motions {
			for k := range r.Motions[i].Positions {
				p := &r.Motions[i].Positions[k]
				if p.Confirmed.Verdict != readiness.Met || p.Pain.Verdict == readiness.NotMet || p.RangeVerdict() == readiness.NotMet {
					t.Fatalf("ready with %v %v: %+v", r.Motions[i].Motion, p.Position, p)
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
	for _, r := range a.Readiness.Motions {
		fmt.Println(r.Motion, r.Step)
	}
	// Output:
	// limited-by-range
	// external arm-at-side
	// internal arm-at-side
}
