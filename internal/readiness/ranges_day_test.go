package readiness

import (
	"slices"
	"testing"

	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// An arm that lifts to 176 degrees and to 60 on one day does not lift, whoever wrote it down
// first, and in one visit or in two.
func TestTheLowerOfTwoRangesDecides(t *testing.T) {
	const flexed = shoulder.Flexion
	again := func(degrees string) visit { return visit{Day: 0, Flexion: degrees} }
	tests := []struct {
		name       string
		e          *shoulder.Episode
		cannotLift bool
	}{
		{"176, then 60, 170 passively", altered([]alter{motionOf(flexed, shoulder.Right, true, "60"), motionOf(flexed, shoulder.Right, false, "170")}, complete(0, "100")), true},
		{"176, then 60, nothing passively", altered([]alter{motionOf(flexed, shoulder.Right, true, "60")}, complete(0, "100")), false},
		{"176, then 100", altered([]alter{motionOf(flexed, shoulder.Right, true, "100")}, complete(0, "100")), false},
		{"176, and 60 at a second visit of the day", episode(complete(0, "100"), again("60")), false},
		{"60 at a first visit of the day, then 176", episode(again("60"), complete(0, "100")), false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := judged(tt.e)
			flagged := slices.ContainsFunc(r.Flags, func(f redflag.Flag) bool { return f.Code == redflag.CannotLift })
			if flagged != tt.cannotLift {
				t.Errorf("flags %v, want one of an arm that cannot be lifted: %v", r.Flags, tt.cannotLift)
			}
			if !r.RangeDisagrees(flexed) || r.Gates()[1].RangeVerdict() != NotMet || r.Motions[0].Working().Elevated() {
				t.Errorf("concerns %q, range %v, step %v; want the range in doubt and the arm at the side", kinds(r), r.Gates()[1].RangeVerdict(), r.Motions[0].Step)
			}
		})
	}
}
