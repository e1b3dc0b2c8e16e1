package readiness

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// Pain of 6 in the test holds the steps (the protocol's limit is 5). What was noted later
// without an occasion may have been felt at rest: a lower score does not end it, a higher one
// is worse; a later score of the test does.
func TestPainOfATestEndsByPainOfATest(t *testing.T) {
	tests := []struct {
		name    string
		later   shoulder.PainContext
		score   string
		verdict Verdict
		decides string
	}{
		{"none later without an occasion", shoulder.PainUnstated, "0", NotMet, "6"},
		{"more later without an occasion", shoulder.PainUnstated, "8", NotMet, "8"},
		{"none later in the test", shoulder.PainDuringResistedTest, "0", Met, "0"},
		{"none later at rest", shoulder.PainAtRest, "0", NotMet, "6"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			first, second := complete(0, "80"), complete(14, "80")
			first.Pain, second.Pain = "6", ""
			e := episode(first, second)
			e.Sessions[1].Pains = append(e.Sessions[1].Pains, shoulder.Pain{Source: next(), Context: tt.later, Score: exact.MustParse(tt.score)})
			got := judged(e).Motions[0].Positions[0].Pain
			if got.Verdict != tt.verdict || got.Value == nil || got.Value.Cmp(exact.MustParse(tt.decides)) != 0 {
				t.Errorf("pain is %v by %v, want %v by %s", got.Verdict, got.Value, tt.verdict, tt.decides)
			}
		})
	}
}
