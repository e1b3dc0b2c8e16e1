package readiness

import (
	"testing"

	"evenreach.example/internal/shoulder"
)

// liftsOther is how far the comparison arm is lifted, and how far it can be moved.
func liftsOther(active, passive string) func(*shoulder.Session) {
	return func(s *shoulder.Session) {
		motionOf(shoulder.Flexion, shoulder.Left, true, active)(s)
		motionOf(shoulder.Flexion, shoulder.Left, false, passive)(s)
	}
}

// Evenness with an arm that cannot be lifted confirms nothing, at either of the two visits, until
// a later one shows that it lifts again: by a real change above 90 degrees (protocol: 20).
func TestAComparisonSideThatCannotBeLiftedConfirmsNothing(t *testing.T) {
	tests := []struct {
		name      string
		visits    int
		lifts     map[int]string // by visit, how far
		confirmed Verdict
		concern   string
		why       string
	}{
		{"at the first visit, never measured again", 2, map[int]string{0: "80"}, NotMet, "comparison-cannot-lift", "a flag is not ended by time"},
		{"at the second visit", 2, map[int]string{1: "80"}, NotMet, "comparison-cannot-lift", "by definition"},
		{"at the first of two, lifted at the second", 2, map[int]string{0: "80", 1: "170"}, NotMet, "", "the first visit confirms nothing"},
		{"at the first of three, lifted at the second", 3, map[int]string{0: "80", 1: "170"}, Met, "", "the second confirms the third"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := episode([]visit{complete(0, "100"), complete(14, "100"), complete(28, "100")}[:tt.visits]...)
			for at, degrees := range tt.lifts {
				liftsOther(degrees, "170")(&e.Sessions[at])
			}
			r := judged(e)
			confirmed := r.Motions[0].Positions[0].Confirmed
			if confirmed.Verdict != tt.confirmed || kinds(r) != tt.concern || len(r.Flags) > 0 {
				t.Errorf("confirmed %v by %v, concerns %q, flags %v; want %v, %q and no flag (%s)", confirmed.Verdict, confirmed.Basis, kinds(r), r.Flags, tt.confirmed, tt.concern, tt.why)
			}
		})
	}
}
