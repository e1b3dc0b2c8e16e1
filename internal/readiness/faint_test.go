package readiness

import "testing"

// Near the measuring floor of 10 N an index opens nothing, because the error of 5 N is half of what
// was measured (protocol); a low one holds back all the same. The steps need the lower end of
// the interval at half of the index or more (protocol: function.low).
func TestAnIndexNearTheMeasuringFloorOpensNothing(t *testing.T) {
	tests := []struct {
		name        string
		right, left string
		step        Step
		verdict     Verdict
	}{
		{"11 of 11 N", "11", "11", StepAtSide, NotMeasured},
		{"15 of 15 N", "15", "15", StepAtSide, NotMeasured},
		{"50 of 50 N", "50", "50", StepAbduction90Supported, Met},
		{"75 of 100 N", "75", "100", StepAbduction90Supported, Met},
		{"11 of 100 N", "11", "100", StepAtSide, NotMet},
		{"11 of 20 N", "11", "20", StepAtSide, NotMet},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := judged(episode(against(0, tt.right, tt.left)))
			p := &r.Motions[0].Positions[0]
			if r.Motions[0].Step != tt.step || p.GoodEnough.Verdict != tt.verdict || tt.verdict == NotMeasured && (p.GoodEnough.Basis != TooFaint || p.Even.Verdict == Met) {
				t.Errorf("step %v, good enough %v by %v, even %v; want %v, %v", r.Motions[0].Step, p.GoodEnough.Verdict, p.GoodEnough.Basis, p.Even.Verdict, tt.step, tt.verdict)
			}
		})
	}
}
