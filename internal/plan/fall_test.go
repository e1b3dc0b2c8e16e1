package plan

import (
	"slices"
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// After a fall of all tests, each within its error, the plan holds nothing that is harder
// than before: the elevated work goes back by a position, the easier one goes on beside
// it, and no load is raised.
func TestNothingHarderAfterAFallOfAllTests(t *testing.T) {
	steady := []shoulder.ArmPosition{shoulder.Flexion90, shoulder.Abduction90}
	before, after := complete(0, "85"), complete(14, "74")
	before.Steady, after.Steady = steady, steady
	p := planned(shouldertest.Episode(before, after))
	var got []string
	for _, e := range p.Exercises {
		got = append(got, short(e))
		if !slices.Contains(e.Cues, LoadAsBefore) || !e.Held {
			t.Errorf("%s: cues %v, held %v, want the load as before", short(e), e.Cues, e.Held)
		}
	}
	want := []string{
		"strengthen external flexion-90 supported isotonic", "continue-beside external arm-at-side unstated isotonic",
		"strengthen internal flexion-90 supported isotonic", "continue-beside internal arm-at-side unstated isotonic",
	}
	if !slices.Equal(got, want) {
		t.Errorf("exercises\n%q, want\n%q", got, want)
	}
}

// A light dose is none that is kept as it was.
func TestLightDoseIsNotToBeKeptAsItIs(t *testing.T) {
	first, doubted := complete(0, "85"), complete(14, "85")
	doubted.ER[0] = "85 87 170" // the third trial stands apart
	light := 0
	for _, e := range planned(shouldertest.Episode(first, doubted)).Exercises {
		if e.Dose != protocol.Default().Dose.Submaximal {
			continue
		}
		light++
		if slices.Contains(e.Cues, LoadAsBefore) || !e.Held {
			t.Errorf("%s: cues %v, held %v, want a light dose that is not raised, and no word of the load before", short(e), e.Cues, e.Held)
		}
	}
	if light == 0 {
		t.Error("no exercise with a light dose, want one for the test in doubt")
	}
}
