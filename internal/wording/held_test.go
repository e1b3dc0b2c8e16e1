package wording

import (
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// What holds a step is said in a form in which no count can be read as another, and asks for
// what would open it.
//
// Source: the wording is ours; that no test shows evenness without an unaffected side, by
// definition of the index.
func TestWhatHoldsAStep(t *testing.T) {
	p := protocol.Default()
	value := number("84.2")
	uneven := func(position shoulder.ArmPosition) *readiness.Criterion {
		return &readiness.Criterion{
			Rule: readiness.EvenConfirmed, Position: position, Verdict: readiness.NotMet, Basis: readiness.Dynamometry, Value: &value, Threshold: p.Symmetry.Even,
		}
	}
	alone := func(rule readiness.Rule, position shoulder.ArmPosition) *readiness.Criterion {
		return &readiness.Criterion{Rule: rule, Position: position, Basis: readiness.NoYardstick}
	}
	rangeAt := &readiness.Criterion{Rule: readiness.RangeOpen, Position: shoulder.Flexion90}
	stated := &readiness.Criterion{Rule: readiness.LoadPermitted, Verdict: readiness.NotMet, Basis: readiness.Recorded}
	weeks := number("9")
	healing := &readiness.Criterion{Rule: readiness.LoadPermitted, Verdict: readiness.NotMet, Basis: readiness.Recorded, Value: &weeks, Threshold: protocol.Threshold{Comparison: protocol.AtLeast, Value: number("12")}}
	for _, tt := range []struct {
		name    string
		holding []*readiness.Criterion
		want    string
	}{
		{"two positions", []*readiness.Criterion{uneven(shoulder.AtSide), uneven(shoulder.Flexion90)}, "LSI at least 90 % (84.2 % at the side and 1 more)"},
		{
			"two positions and another cause", []*readiness.Criterion{uneven(shoulder.AtSide), uneven(shoulder.Flexion90), rangeAt},
			"LSI at least 90 % (84.2 % at the side and 1 more); other reasons: 1",
		},
		{"a statement where no weeks count", []*readiness.Criterion{uneven(shoulder.AtSide), stated}, "a clinician’s leave for more load"},
		{"weeks of a repair", []*readiness.Criterion{healing}, "more healing of the repair"},
		{"a range that is not measured, or too old", []*readiness.Criterion{rangeAt}, "a new measurement of active flexion"},
		{
			"evenness without an unaffected side", []*readiness.Criterion{alone(readiness.EvenConfirmed, shoulder.AtSide), alone(readiness.EvenConfirmed, shoulder.Flexion90)},
			"the clinician’s decision, as no side is unaffected",
		},
		{"one test without an unaffected side", []*readiness.Criterion{alone(readiness.GoodEnough, shoulder.AtSide)}, "a second test of the involved side, for its change (at the side)"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").heldBy(tt.holding, 1); got != tt.want {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

// A later number that ends no flag says why.
//
// Source: the rule that only another day ends a flag, and only by a whole recovery, in redflag.Find.
func TestWhyAFlagStands(t *testing.T) {
	reading := func(value, day string) redflag.Measured {
		return redflag.Measured{Value: number(value), Unit: "deg", When: date(day)}
	}
	const shared = "Loss of active range: active flexion, right 170 degrees on 2026-03-02, 90 degrees on 2026-03-16; "
	for _, tt := range []struct {
		name  string
		since redflag.Measured
		want  string
	}{
		{"the same day", reading("170", "2026-03-16"), "170 degrees on the same day, 2026-03-16, ends no alarm: it takes another day."},
		{"no better", reading("90", "2026-03-23"), "90 degrees on 2026-03-23 is no recovery."},
		{"worse", reading("70", "2026-03-23"), "70 degrees on 2026-03-23 is no recovery."},
		{"in part", reading("130", "2026-03-23"), "130 degrees on 2026-03-23 is no whole recovery."},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := redflag.Flag{
				Code: redflag.RangeLoss, Side: shoulder.Right, Movement: shoulder.Flexion,
				Then: reading("170", "2026-03-02"), Now: reading("90", "2026-03-16"), Since: tt.since,
			}
			if got := For("en").Flag(&f); got != shared+tt.want {
				t.Errorf("got  %q\nwant %q", got, shared+tt.want)
			}
		})
	}
	t.Run("more pain", func(t *testing.T) {
		f := redflag.Flag{Code: redflag.HighRestPain, Now: redflag.Measured{Value: number("7"), When: date("2026-03-16")}, Since: redflag.Measured{Value: number("8"), When: date("2026-03-23")}}
		if f.Better() {
			t.Error("8 of 10 is better than 7, want worse")
		}
	})
}

// Where both arms are affected the patient reads which one an alarm is about.
func TestThePatientReadsWhichArm(t *testing.T) {
	r := &readiness.Readiness{ComparisonAffected: true, Flags: []redflag.Flag{{
		Code: redflag.SuddenStrengthLoss, Side: shoulder.Left,
		Then: redflag.Measured{Value: number("78.4"), Unit: "N", When: date("2026-05-01")},
		Now:  redflag.Measured{Value: number("29.4"), Unit: "N", When: date("2026-05-29")},
	}}}
	const want = "Your arm has become much weaker (left: 78.4 N on 2026-05-01, 29.4 N on 2026-05-29)."
	if lines := For("en").Plain().Alarms(r); len(lines) != 2 || lines[1] != want {
		t.Errorf("got %q, want %q after the call", lines, want)
	}
}
