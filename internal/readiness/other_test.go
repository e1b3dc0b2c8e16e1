package readiness

import "testing"

// Direct work of one rotation does not end while the other is far from even: it goes on in
// the highest position, and the other rotation is named as what holds functional work.
//
// Source: both rotations are needed for ready (design, section 4, overall status).
func TestOneRotationWaitsForTheOther(t *testing.T) {
	weak := complete(63, "100")
	weak.ER = [3]string{"80", "80", "80"}
	for _, tt := range []struct {
		name string
		last visit
		want Step
		held bool
	}{
		{"external rotation at 80 %", weak, StepAbduction90Supported, true},
		{"both even", complete(63, "100"), StepFunctional, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := judged(episode(complete(0, "100"), complete(21, "100"), complete(42, "100"), tt.last))
			internal := &r.Motions[1]
			if !internal.AllConfirmed() || internal.Step != tt.want {
				t.Errorf("confirmed %v at %v, want confirmed at %v", internal.AllConfirmed(), internal.Step, tt.want)
			}
			held := len(internal.Holding) == 1 && internal.Holding[0].Rule == OtherRotationEven
			if held != tt.held {
				t.Errorf("held by %v, want the other rotation: %v", internal.Holding, tt.held)
			}
		})
	}
}
