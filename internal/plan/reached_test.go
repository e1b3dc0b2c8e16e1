package plan

import (
	"testing"

	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// A goal is reached where its criterion is met now; the criteria are those that the
// goals of this package aim at.
func TestReached(t *testing.T) {
	judged := func(set func(*readiness.Readiness)) *readiness.Readiness {
		r := &readiness.Readiness{}
		r.Tissue.Verdict = readiness.Met
		for _, motion := range shoulder.Trained {
			of := readiness.MotionReadiness{Motion: motion, Step: readiness.StepAtSide}
			for _, position := range shoulder.TrainedPositions {
				of.Positions = append(of.Positions, readiness.PositionReadiness{Position: position})
			}
			r.Motions = append(r.Motions, of)
		}
		set(r)
		return r
	}
	nothing := func(*readiness.Readiness) {}
	at := func(r *readiness.Readiness) *readiness.PositionReadiness { return &r.Motions[0].Positions[0] }
	external := func(aim Aim) *Goal { return &Goal{Aim: aim, Motion: shoulder.External} }
	tests := []struct {
		name string
		r    *readiness.Readiness
		goal *Goal
		want bool
	}{
		{"pain not measured", judged(nothing), &Goal{Aim: AimPain}, false},
		{"pain within the limit", judged(func(r *readiness.Readiness) { at(r).Pain.Verdict = readiness.Met }), &Goal{Aim: AimPain}, true},
		{"good enough", judged(func(r *readiness.Readiness) { at(r).GoodEnough.Verdict = readiness.Met }), external(AimGoodEnough), true},
		{"good enough, of the other rotation", judged(func(r *readiness.Readiness) { at(r).GoodEnough.Verdict = readiness.Met }), &Goal{Aim: AimGoodEnough, Motion: shoulder.Internal}, false},
		{"good enough is not even", judged(func(r *readiness.Readiness) { at(r).GoodEnough.Verdict = readiness.Met }), external(AimEven), false},
		{"even", judged(func(r *readiness.Readiness) { at(r).Even.Verdict = readiness.Met }), external(AimEven), true},
		{"nothing trained", judged(func(r *readiness.Readiness) { r.Motions[0].Step = readiness.NoStep }), external(AimEven), false},
		{"range of nothing", judged(nothing), &Goal{Aim: AimRange}, false},
		{"range not measured", judged(nothing), &Goal{Aim: AimRange, Targets: []Target{{Movement: shoulder.Flexion}}}, false},
	}
	for _, tt := range tests {
		if got := Reached(tt.r, tt.goal); got != tt.want {
			t.Errorf("%s: %t, want %t", tt.name, got, tt.want)
		}
	}
}
