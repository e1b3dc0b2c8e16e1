package readiness

import (
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/shoulder"
)

// What was good enough keeps the step of that session and opens none: the index of the
// arm at the side goes from 80 to 72, within error of 75.
func TestKeptOpensNothing(t *testing.T) {
	at := func(day int, er [3]string, abduction string) visit {
		return visit{Day: day, ER: er, IR: all("80"), Flexion: "160", Abduction: abduction, Pain: "2"}
	}
	free := func(day int, er [3]string) visit {
		v := at(day, er, "160")
		v.Steady = []shoulder.ArmPosition{flexion, abduction}
		return v
	}
	tests := []struct {
		name   string
		visits []visit
		step   Step
		source string
	}{
		{"keeps what was open", []visit{at(0, all("80"), "160"), at(14, [3]string{"72", "80", "80"}, "160")}, StepAbduction90Supported, "abduction was open"},
		{"opens no further", []visit{at(0, [3]string{"80", "60", "60"}, "160"), at(14, [3]string{"72", "80", "60"}, "160")}, StepFlexion90Supported, "flexion was open, abduction was not"},
		{"nor by range", []visit{at(0, all("80"), "90"), at(14, [3]string{"72", "80", "80"}, "160")}, StepFlexion90Supported, "abduction had no range then"},
		{"nor what never was", []visit{at(0, [3]string{"72", "80", "80"}, "160")}, StepAtSide, "it was never good enough"},
		{"nor the arm held free", []visit{free(0, [3]string{"80", "80", "80"}), free(14, [3]string{"80", "80", "72"})}, StepAbduction90Supported, "72 does not hold it free"},
		{"free where the index is good enough", []visit{free(0, [3]string{"80", "80", "80"}), free(14, [3]string{"72", "80", "80"})}, StepAbduction90Unsupported, "80 does"},
		{"one position less when all fell", []visit{free(0, all("80")), free(14, all("74"))}, StepFlexion90Supported, "nothing is good enough any more"},
		{"one position less when both that were tested fell", []visit{free(0, [3]string{"80", "80"}), free(14, [3]string{"74", "74"})}, StepFlexion90Supported, "abduction was open, and not measured"},
		{"nor after a fall beyond the error of one test", []visit{at(0, all("95"), "160"), at(14, [3]string{"65", "93", "93"}, "160")}, StepAtSide, "by hand: 30 / (0.1 x 80 x sqrt 2) = 2.65, with fewer trials 2.2, > 1.96"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := judged(episode(tt.visits...)).Motions[0]
			if r.Step != tt.step {
				t.Errorf("step = %v, want %v (%s)", r.Step, tt.step, tt.source)
			}
			for i := range r.Positions {
				if p := &r.Positions[i]; p.Kept != nil && p.GoodEnough.Verdict != NotMet {
					t.Errorf("good enough is %v below its threshold, want not met", p.GoodEnough.Verdict)
				}
			}
		})
	}
}

// No verdict is met beside a number below its threshold, and no step stands above a
// position that neither is nor was good enough.
func TestNothingIsMetBelowItsThreshold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		visits := drawVisits(t)
		r := judged(episode(visits...))
		for i := range r.Motions {
			motion := &r.Motions[i]
			for k := range motion.Positions {
				p := &motion.Positions[k]
				if c := &p.GoodEnough; c.Verdict == Met && c.Value != nil && !c.Threshold.Met(*c.Value) {
					t.Fatalf("%v is met at %v", c.Rule, c.Value)
				}
				if motion.Working() > p.Position && p.Kept == nil && p.GoodEnough.Verdict != Met {
					t.Fatalf("%v above %v, which is %v", motion.Step, p.Position, p.GoodEnough.Verdict)
				}
			}
		}
	})
}
