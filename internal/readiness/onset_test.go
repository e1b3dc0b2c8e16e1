package readiness

import (
	"testing"

	"evenreach.example/internal/shoulder"
)

// Visits on days 0, 14 and 28, ready for functional work but for a condition that began since.
//
// Source of the expected values: ours; two visits confirm evenness.
func TestAConditionThatBeganSinceIsAConcern(t *testing.T) {
	began := func(n int) []shoulder.Onset {
		return []shoulder.Onset{{Side: shoulder.Right, When: day(n)}}
	}
	examined := func(n int, cleared bool) []shoulder.Statement {
		return []shoulder.Statement{{When: day(n), Side: shoulder.Right, Cleared: cleared}}
	}
	tests := []struct {
		name     string
		onsets   []shoulder.Onset
		examined []shoulder.Statement
		concern  bool
	}{
		{"none", nil, nil, false},
		{"before the first visit", began(-90), nil, false},
		{"on the day of the visit before", began(14), nil, false},
		{"between the last two visits", began(24), nil, true},
		{"after the last visit", began(40), nil, true},
		{"an older one too", append(began(-90), began(24)...), nil, true},
		{"examined before", began(24), examined(23, true), true},
		{"examined since", began(24), examined(24, true), false},
		{"examined, and not cleared", began(24), examined(26, false), true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := episode(complete(0, "100"), complete(14, "100"), complete(28, "100"))
			e.Onsets, e.Examinations = tt.onsets, tt.examined
			r := judged(e)
			found := kinds(r) == "condition-since"
			if found != tt.concern || tt.concern == (r.Overall == ReadyForFunctional) {
				t.Errorf("concerns %q, overall %v, want a concern %t and nothing open with one", kinds(r), r.Overall, tt.concern)
			}
		})
	}
}
