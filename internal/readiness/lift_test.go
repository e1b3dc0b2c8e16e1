package readiness

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// An arm below shoulder height whose passive range nobody measured may be one that cannot be
// lifted: nothing is opened against resistance before that is known.
func TestALowArmWithoutItsPassiveRangeOpensNothing(t *testing.T) {
	passive := func(s *shoulder.Session) {
		s.Ranges = append(s.Ranges, shoulder.Range{Source: next(), Movement: shoulder.Flexion, Side: shoulder.Right, Degrees: exact.MustParse("95")})
	}
	tests := []struct {
		name    string
		flexion string
		alter   func(*shoulder.Session)
		want    string
		step    Step
		source  string
	}{
		{"89 degrees", "89", nil, "passive-unknown", NoStep, "protocol: cannot-lift below 90 degrees"},
		{"90 degrees", "90", nil, "", StepAtSide, "protocol: cannot-lift below 90 degrees"},
		{"89 degrees, stiff", "89", passive, "", StepAtSide, "protocol: free from 30 degrees more"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v := complete(0, "100")
			v.Flexion = tt.flexion
			e := episode(v)
			if tt.alter != nil {
				tt.alter(&e.Sessions[0])
			}
			r := judged(e)
			if got := kinds(r); got != tt.want || r.Motions[0].Step != tt.step {
				t.Errorf("%q at %v, want %q at %v (%s)", got, r.Motions[0].Step, tt.want, tt.step, tt.source)
			}
		})
	}
}

// A clinician who cleared the shoulder has seen it.
func TestALowArmThatWasExaminedIsKnown(t *testing.T) {
	v := complete(0, "100")
	v.Flexion = "80"
	e := episode(v)
	e.Examinations = []shoulder.Statement{{Source: next(), When: e.Sessions[0].When, IsDay: true, Cleared: true, Side: shoulder.Right}}
	if got := kinds(judged(e)); got != "" {
		t.Errorf("%q, want none", got)
	}
}
