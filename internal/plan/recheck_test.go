package plan

import (
	"testing"

	"evenreach.example/internal/shoulder/shouldertest"
)

// After a clear fall of the involved side the re-check is about a week away, in place of
// two to four, and the plan says why.
//
// Source: recheck of the default protocol, 7 to 10 and 14 to 28 days.
func TestRecheckIsSoonerAfterAFall(t *testing.T) {
	less, lower := complete(14, "61 61 61"), complete(14, "80")
	lower.Flexion = "145"
	for _, tt := range []struct {
		name     string
		now      visit
		from, to int
		why      Sooner
	}{
		{"as before", complete(14, "80"), 14, 28, NotSooner},
		{"all tests 24 % lower", less, 7, 10, AfterFall},
		{"flexion 20 degrees lower, two examiners", lower, 7, 10, AfterRangeFall},
	} {
		t.Run(tt.name, func(t *testing.T) {
			p := called(shouldertest.Episode(complete(0, "80 80 80"), tt.now))
			if p.Examine {
				t.Fatal("a red flag, want none")
			}
			if from, to := shouldertest.Day(14+tt.from), shouldertest.Day(14+tt.to); !p.Recheck.From.Equal(from) || !p.Recheck.To.Equal(to) {
				t.Errorf("re-check %v, want %v to %v", p.Recheck, from, to)
			}
			if p.Sooner != tt.why {
				t.Errorf("sooner by %v, want %v", p.Sooner, tt.why)
			}
		})
	}
}
