package wording

import (
	"slices"
	"testing"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

func TestOpenStep(t *testing.T) {
	for step, want := range map[readiness.Step]string{
		readiness.NoStep:                   "Internal rotation: no resisted work of the rotators.",
		readiness.StepAtSide:               "Internal rotation: arm at the side.",
		readiness.StepFlexion90Unsupported: "Internal rotation: 90 degrees of flexion, arm unsupported.",
		readiness.StepFunctional:           "Internal rotation: functional work.",
	} {
		got := For("en").OpenStep(&readiness.MotionReadiness{Motion: shoulder.Internal, Step: step})
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestReasons(t *testing.T) {
	unmeasured := &readiness.Criterion{Rule: readiness.EvenConfirmed, Position: shoulder.Abduction90}
	goodEnough := &readiness.Criterion{Rule: readiness.GoodEnough, Position: shoulder.Abduction90}
	unsteady := &readiness.Criterion{Rule: readiness.ArmSteady, Position: shoulder.Abduction90, Verdict: readiness.NotMet}
	flexion := &readiness.Criterion{Rule: readiness.RangeOpen, Position: shoulder.Flexion90, Needed: new(number("135")), Unit: "deg"}
	minimum := &readiness.Criterion{Rule: readiness.RangeMinimum, Position: shoulder.Flexion90, Needed: new(number("90")), Unit: "deg"}
	pain := func(p shoulder.ArmPosition) *readiness.Criterion {
		return &readiness.Criterion{
			Rule: readiness.PainAcceptable, Position: p, Verdict: readiness.NotMet, Certainty: measure.ClearlyNot,
			Value: new(number("8")), Unit: "{score}", Threshold: painLimit, Sources: []shoulder.SourceID{7},
		}
	}
	const untested = "external rotation at 90 degrees of abduction: no current strength of both sides that can be compared."
	for _, tt := range []struct {
		name   string
		motion readiness.MotionReadiness
		want   []string
	}{
		{
			"healing says only itself",
			readiness.MotionReadiness{Next: readiness.StepAtSide, Holding: []*readiness.Criterion{{Rule: readiness.TissueHealed}}},
			[]string{"A cuff repair is recorded without its date, and no clearance for resisted work."},
		},
		{
			"the same lack is said once",
			readiness.MotionReadiness{
				Motion: shoulder.External, Step: readiness.StepAbduction90Supported, Next: readiness.StepFunctional, Provisional: true,
				Holding: []*readiness.Criterion{unmeasured}, HoldingFree: []*readiness.Criterion{goodEnough, unsteady},
				Beside: []shoulder.ArmPosition{shoulder.AtSide, shoulder.Flexion90},
			},
			[]string{
				"Open provisionally, until its strength is measured.",
				"Not yet functional work: " + untested,
				"The arm stays supported: the arm did not stay still unsupported at 90 degrees of abduction.",
				"Goes on beside it, good enough and not yet even: arm at the side, 90 degrees of flexion.",
			},
		},
		{
			"one pain score and one range, each said once",
			readiness.MotionReadiness{
				Motion: shoulder.External, Step: readiness.StepAtSide, Next: readiness.StepFlexion90Supported, PainHolds: true,
				Holding: []*readiness.Criterion{pain(shoulder.AtSide), pain(shoulder.Flexion90), flexion, minimum},
			},
			[]string{
				"Pain during the resisted test is over the limit: do not raise the load until it has settled.",
				"Not yet 90 degrees of flexion, arm supported: pain during the resisted test with the arm at the side: 8/10, at most 5/10 accepted; clearly not.",
				"Active flexion needs 135 degrees on the left; not measured.",
			},
		},
		{
			"a position itself may ask for more range",
			readiness.MotionReadiness{
				Motion: shoulder.External, Step: readiness.StepAtSide, Next: readiness.StepFlexion90Supported,
				Holding: []*readiness.Criterion{
					{Rule: readiness.RangeOpen, Position: shoulder.Flexion90, Needed: new(number("80")), Unit: "deg"}, minimum,
				},
			},
			[]string{
				"Not yet 90 degrees of flexion, arm supported: active flexion needs 80 degrees on the left; not measured.",
				"Active flexion needs 90 degrees on the left; not measured.",
			},
		},
		{
			"functional",
			readiness.MotionReadiness{Motion: shoulder.External, Step: readiness.StepFunctional},
			[]string{"Direct work of this rotation can stop."},
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Reasons(&tt.motion, shoulder.Left, false); !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

func TestSteppedBack(t *testing.T) {
	fell := func(k measure.Certainty) *readiness.PositionReadiness {
		return &readiness.PositionReadiness{
			Position: shoulder.AtSide,
			Symmetry: symmetry(func(s *measure.Symmetry) {
				s.Index, s.Steady = number("74.96"), measure.Interval{Bounds: measure.Bounded, Low: 74, High: 74.99}
			}),
			FellFrom:   symmetry(func(s *measure.Symmetry) { s.When = date("2026-02-02") }),
			GoodEnough: readiness.Criterion{Threshold: atLeast("75", "%"), Certainty: k, Verdict: readiness.NotMet},
		}
	}
	for k, want := range map[measure.Certainty]string{
		measure.ClearlyNot: "stepped back: with the arm at the side the limb symmetry index fell from 80.0 % on 2026-02-02 to 74.96 %, clearly not good enough",
		measure.NotClear:   "stepped back: with the arm at the side the limb symmetry index fell from 80.0 % on 2026-02-02 to 74.96 %, in consecutive sessions",
	} {
		if got := For("en").steppedBack(fell(k)); got != want {
			t.Errorf("got  %q\nwant %q", got, want)
		}
	}
}
