package plan

import (
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// Where no strength was tested there is none to take a share of: light holds.
func TestNoShareOfAStrengthThatWasNeverTested(t *testing.T) {
	nothing := visit{Day: 0, Flexion: "165", Abduction: "165", Pain: "6"}
	p := planned(shouldertest.Episode(nothing))
	if len(p.Exercises) != 2 {
		t.Fatalf("%d exercises, want both rotations", len(p.Exercises))
	}
	for i := range p.Exercises {
		e := &p.Exercises[i]
		if e.Dose.Share != nil || e.Dose != protocol.Default().Dose.Submaximal {
			t.Errorf("%s: %q, want light holds", short(*e), e.Dose.Text)
		}
	}
}

// Whether the arm can be lifted is asked first, and soon, and nothing is loaded before.
func TestPassiveRangeIsAskedBeforeAnyLoad(t *testing.T) {
	p := planned(shouldertest.Episode(visit{Day: 0, Flexion: "20"}))
	for _, e := range p.Exercises {
		if e.Purpose != RestoreRange {
			t.Errorf("%s, want range only", short(e))
		}
	}
	if first := p.Requests[0]; first.Ask != AskPassive || first.Movement != shoulder.Flexion || !first.First {
		t.Errorf("first %v of %v, want the passive flexion", first.Ask, first.Movement)
	}
	if !p.Recheck.From.Equal(shouldertest.Day(0)) {
		t.Errorf("re-check from %v, want at once", p.Recheck.From)
	}
}
