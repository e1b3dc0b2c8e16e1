package wording

import (
	"testing"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// painLimit is at most 5 of 10.
var painLimit = protocol.Threshold{Comparison: protocol.AtMost, Value: number("5"), Unit: "{score}"}

func date(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return t
}

// strength is a criterion of strength: 88.0 N of 128.0 N are 68.75 %, and 75 %
// of 128.0 N are 96.0 N.
func strength(rule readiness.Rule, change func(*readiness.Criterion)) readiness.Criterion {
	k := readiness.Criterion{
		Rule: rule, Position: shoulder.Abduction90, Verdict: readiness.NotMet, Certainty: measure.ClearlyNot,
		Basis: readiness.Dynamometry, Value: new(number("68.75")), Threshold: atLeast("75", "%"),
		Needed: new(number("96.0")), Measured: new(number("88.0")), Unit: "N",
	}
	if change != nil {
		change(&k)
	}
	return k
}

func TestCriterion(t *testing.T) {
	tissue := func(days int64, v readiness.Verdict) readiness.Criterion {
		weeks, _ := exact.Int(days).Quo(exact.Int(7))
		return readiness.Criterion{
			Rule: readiness.TissueHealed, Verdict: v, Certainty: measure.CertaintyOfFact(v == readiness.Met), Basis: readiness.Recorded,
			Value: &weeks, Unit: "wk", Threshold: atLeast("12", "wk"), When: date("2026-02-23"),
		}
	}
	for _, tt := range []struct {
		name      string
		criterion readiness.Criterion
		want      string
	}{
		{
			"strength that is missing", strength(readiness.GoodEnough, nil),
			"external rotation at 90 degrees of abduction needs 96.0 N on the left; measured 88.0 N (limb symmetry index 68.8 %, at least 75 % needed); clearly not",
		},
		{
			"strength that is reached within error", strength(readiness.GoodEnough, func(k *readiness.Criterion) {
				k.Value, k.Measured, k.Verdict, k.Certainty = new(number("76.5625")), new(number("98")), readiness.Met, measure.NotClear
			}),
			"external rotation at 90 degrees of abduction needs 96.0 N on the left; measured 98.0 N (limb symmetry index 76.6 %, at least 75 % needed); met, not clear yet",
		},
		{
			"a verdict that is kept", strength(readiness.GoodEnough, func(k *readiness.Criterion) {
				k.Verdict, k.Basis, k.Certainty = readiness.NotMet, readiness.Retained, measure.ProbablyNot
			}),
			"external rotation at 90 degrees of abduction needs 96.0 N on the left; measured 88.0 N (limb symmetry index 68.8 %, at least 75 % needed); was good enough, now 68.8 %, probably not, which keeps a step and opens none",
		},
		{
			"strength without a partner", readiness.Criterion{Rule: readiness.Even, Position: shoulder.Flexion90, Threshold: atLeast("90", "%")},
			"external rotation at 90 degrees of flexion: no current strength of both sides that can be compared",
		},
		{
			"an index without forces", strength(readiness.Even, func(k *readiness.Criterion) { k.Needed = nil }),
			"external rotation at 90 degrees of abduction: limb symmetry index 68.8 %, at least 75 % needed; clearly not",
		},
		{
			"manual test", readiness.Criterion{
				Rule: readiness.GoodEnough, Position: shoulder.AtSide, Basis: readiness.ManualTest, Grade: shoulder.Grade3Plus,
				Verdict: readiness.NotMet, Certainty: measure.ProbablyNot,
			},
			"external rotation with the arm at the side: manual grade 3+; probably not",
		},
		{
			"even once", strength(readiness.EvenConfirmed, func(k *readiness.Criterion) {
				k.Threshold, k.Value, k.Certainty = atLeast("90", "%"), new(number("92")), measure.NotClear
			}),
			"external rotation at 90 degrees of abduction: limb symmetry index 92.0 % is even; a further even session has to confirm it",
		},
		{
			"even and confirmed", strength(readiness.EvenConfirmed, func(k *readiness.Criterion) {
				k.Threshold, k.Value, k.Verdict = atLeast("90", "%"), new(number("125")), readiness.Met
			}),
			"external rotation at 90 degrees of abduction: even in two sessions, limb symmetry index 125.0 %",
		},
		{
			"pain over the limit", readiness.Criterion{
				Rule: readiness.PainAcceptable, Position: shoulder.AtSide, Verdict: readiness.NotMet, Certainty: measure.ClearlyNot,
				Value: new(number("7")), Threshold: painLimit, Unit: "{score}", Basis: readiness.Recorded,
			},
			"pain during the resisted test with the arm at the side: 7/10, at most 5/10 accepted; clearly not",
		},
		{
			"pain without an occasion", readiness.Criterion{
				Rule: readiness.PainAcceptable, Position: shoulder.Flexion90, Verdict: readiness.Met, Certainty: measure.NotClear,
				Value: new(number("4.5")), Threshold: painLimit, Unit: "{score}", Basis: readiness.UnstatedPain,
			},
			"pain at 90 degrees of flexion, occasion not recorded: 4.5/10, at most 5/10 accepted; met, not clear yet",
		},
		{
			"pain that nobody asked for", readiness.Criterion{Rule: readiness.PainAcceptable, Position: shoulder.AtSide},
			"pain during the resisted test with the arm at the side: not recorded",
		},
		{
			"range a tenth short", readiness.Criterion{
				Rule: readiness.RangeOpen, Position: shoulder.Flexion90, Verdict: readiness.NotMet, Certainty: measure.NotClear,
				Needed: new(number("135")), Measured: new(number("134.9")), Unit: "deg", Basis: readiness.Recorded,
			},
			"active flexion needs 135 degrees on the left; measured 134.9 degrees; not met, not clear yet",
		},
		{
			"range of the other side as full", readiness.Criterion{
				Rule: readiness.RangeOpen, Position: shoulder.Abduction90, Verdict: readiness.NotMet, Certainty: measure.ClearlyNot,
				Needed: new(number("128.25")), Measured: new(number("110")), Unit: "deg", Basis: readiness.Recorded,
			},
			"active abduction needs 128.3 degrees on the left; measured 110 degrees; clearly not",
		},
		{
			"range not measured", readiness.Criterion{Rule: readiness.RangeMinimum, Position: shoulder.Flexion90, Needed: new(number("90")), Unit: "deg"},
			"active flexion needs 90 degrees on the left; not measured",
		},
		{
			"no range asked for", readiness.Criterion{Rule: readiness.RangeOpen, Position: shoulder.AtSide, Verdict: readiness.NotApplicable, Unit: "deg"},
			"no active range is asked for with the arm at the side",
		},
		{
			"steady", readiness.Criterion{Rule: readiness.ArmSteady, Position: shoulder.Flexion90, Verdict: readiness.Met, Certainty: measure.ClearlyMet},
			"the arm stayed still unsupported at 90 degrees of flexion",
		},
		{
			"unsteady", readiness.Criterion{Rule: readiness.ArmSteady, Position: shoulder.Abduction90, Verdict: readiness.NotMet, Certainty: measure.ClearlyNot},
			"the arm did not stay still unsupported at 90 degrees of abduction",
		},
		{
			"steadiness not recorded", readiness.Criterion{Rule: readiness.ArmSteady, Position: shoulder.Abduction90},
			"whether the arm stays still unsupported at 90 degrees of abduction is not recorded",
		},
		{
			"steadiness not asked for", readiness.Criterion{Rule: readiness.ArmSteady, Position: shoulder.AtSide, Verdict: readiness.NotApplicable},
			"an unsupported arm is not asked for with the arm at the side",
		},
		{"no repair", readiness.Criterion{Rule: readiness.TissueHealed, Verdict: readiness.NotApplicable}, "no cuff repair recorded that holds resisted work"},
		{"six weeks", tissue(42, readiness.NotMet), "6.0 weeks since the cuff repair, at least 12 weeks needed for resisted work"},
		{"a day short of twelve weeks", tissue(83, readiness.NotMet), "11.9 weeks since the cuff repair, at least 12 weeks needed for resisted work"},
		{"healed", tissue(84, readiness.Met), "12.0 weeks since the cuff repair, at least 12 weeks needed for resisted work"},
		{
			"cleared early", tissue(70, readiness.Met),
			"resisted work cleared on 2026-02-23, 10.0 weeks after the cuff repair (at least 12 weeks without clearance); the operating surgeon's protocol decides",
		},
		{
			"cleared, repair undated", readiness.Criterion{Rule: readiness.TissueHealed, Verdict: readiness.Met, When: date("2026-02-23")},
			"resisted work cleared on 2026-02-23; the operating surgeon's protocol decides",
		},
		{
			"refused", readiness.Criterion{Rule: readiness.TissueHealed, Verdict: readiness.NotMet, When: date("2026-02-23")},
			"recorded on 2026-02-23: resisted work is not cleared",
		},
		{
			"undated", readiness.Criterion{Rule: readiness.TissueHealed, Verdict: readiness.NotMeasured},
			"a cuff repair is recorded without its date, and no clearance for resisted work",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Criterion(&tt.criterion, shoulder.External, shoulder.Left); got != tt.want {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

func TestJudgement(t *testing.T) {
	for _, tt := range []struct {
		name      string
		criterion readiness.Criterion
		want      string
	}{
		{"index", strength(readiness.GoodEnough, nil), "at least 75 %: clearly not"},
		{
			"range in degrees", readiness.Criterion{
				Rule: readiness.RangeOpen, Verdict: readiness.Met, Certainty: measure.ClearlyMet, Threshold: atLeast("75", "%"),
				Needed: new(number("135")), Unit: "deg",
			},
			"at least 135 degrees needed: clearly met",
		},
		{
			"manual test", readiness.Criterion{Rule: readiness.GoodEnough, Basis: readiness.ManualTest, Verdict: readiness.Met, Certainty: measure.ProbablyMet},
			"strong enough to move on: probably met",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Judgement(&tt.criterion); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}
