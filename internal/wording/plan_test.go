package wording

import (
	"slices"
	"testing"

	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

func TestExercise(t *testing.T) {
	for _, tt := range []struct {
		name     string
		exercise plan.Exercise
		want     string
	}{
		{
			"at the side", plan.Exercise{Motion: shoulder.External, Position: shoulder.AtSide},
			"External rotation with the arm at the side",
		},
		{
			"supported", plan.Exercise{Motion: shoulder.External, Position: shoulder.Flexion90, Support: shoulder.Supported},
			"External rotation at 90 degrees of flexion, arm supported",
		},
		{
			"beside another", plan.Exercise{Purpose: plan.Continue, Motion: shoulder.Internal, Position: shoulder.Abduction90, Support: shoulder.Unsupported},
			"Internal rotation at 90 degrees of abduction, arm unsupported, as well",
		},
		{"range", plan.Exercise{Purpose: plan.RestoreRange, Movement: shoulder.Abduction}, "Active abduction: restoring range"},
		{"function", plan.Exercise{Purpose: plan.FullFunction}, "Functional strengthening in place of direct cuff work"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Exercise(&tt.exercise); got != tt.want {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

func TestExerciseDetail(t *testing.T) {
	e := plan.Exercise{
		Mode: plan.Isometric, Dose: protocol.Dose{Text: "3 sets of 32 s", Source: "a trial"}, Provisional: true,
		Cues: []plan.Cue{plan.RollUnderArm, plan.PainWithinLimit},
	}
	const want = "Open provisionally, until its strength is measured. Isometric: 3 sets of 32 s. " +
		"Place a small rolled towel between the upper arm and the trunk. Pain stays within the limit and settles before the next session. " +
		"Source of the dose: a trial."
	if got := For("en").ExerciseDetail(&e); got != want {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestRequests(t *testing.T) {
	requests := []plan.Request{
		{Ask: plan.AskStrength, Why: plan.WhyRoutineCheck, Motion: shoulder.External, Position: shoulder.AtSide},
		{Ask: plan.AskStrength, Why: plan.WhyNotAlike, Motion: shoulder.External, Position: shoulder.Flexion90, First: true},
		{Ask: plan.AskStrength, Why: plan.WhyRoutineCheck, Motion: shoulder.Internal, Position: shoulder.Abduction90},
		{Ask: plan.AskSteadiness, Position: shoulder.Flexion90, First: true},
		{Ask: plan.AskRange, Movement: shoulder.Abduction, First: true},
		{Ask: plan.AskRepairDate, First: true},
	}
	want := []string{
		"strength of external rotation with the arm at the side, internal rotation at 90 degrees of abduction, both sides tested alike (regular re-check)",
		"strength of external rotation at 90 degrees of flexion, both sides tested alike (comparison side not measured)",
		"whether the arm stays still unsupported at 90 degrees of flexion (not recorded yet, or not usable)",
		"active abduction, involved side (not recorded yet, or not usable)",
		"date of the cuff repair (not recorded yet, or not usable)",
	}
	groups := RequestGroups(requests)
	if len(groups) != len(want) {
		t.Fatalf("%d groups, want %d", len(groups), len(want))
	}
	for i, group := range groups {
		if got := For("en").Requests(group); got != want[i] {
			t.Errorf("got  %q\nwant %q", got, want[i])
		}
	}
}

// Where one test of a group would settle more than another the reader is told that the
// order says so, and the short form keeps the order too.
func TestRequestsThatSettleMoreComeFirst(t *testing.T) {
	at := func(r shoulder.Motion, p shoulder.ArmPosition, settles int) *plan.Request {
		return &plan.Request{Ask: plan.AskStrength, Why: plan.WhyRoutineCheck, Motion: r, Position: p, Settles: settles}
	}
	ranked := []*plan.Request{
		at(shoulder.Internal, shoulder.Flexion90, 5), at(shoulder.External, shoulder.AtSide, 3), at(shoulder.Internal, shoulder.AtSide, 1),
	}
	alike := []*plan.Request{at(shoulder.External, shoulder.AtSide, 2), at(shoulder.Internal, shoulder.AtSide, 2)}
	for _, tt := range []struct {
		language string
		group    []*plan.Request
		want     string
	}{
		{"en", ranked, "strength of internal rotation at 90 degrees of flexion, external rotation with the arm at the side, " +
			"internal rotation with the arm at the side, both sides tested alike (regular re-check, most telling first)"},
		{"en", alike, "strength of external rotation with the arm at the side, internal rotation with the arm at the side, " +
			"both sides tested alike (regular re-check)"},
	} {
		if got := For(tt.language).Requests(tt.group); got != tt.want {
			t.Errorf("got  %q\nwant %q", got, tt.want)
		}
	}
	want := []string{"internal rotation (90° flexion, at the side)", "external rotation (at the side)"}
	if got := For("en").subjectsShort(ranked); !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestGoal(t *testing.T) {
	index := func(p shoulder.ArmPosition, now string) plan.Target {
		target := plan.Target{Position: p, Threshold: atLeast("90", "%"), Value: number("90"), Unit: "%"}
		if now != "" {
			target.Current = new(number(now))
		}
		return target
	}
	for _, tt := range []struct {
		name string
		goal plan.Goal
		want string
	}{
		{
			"even in one position",
			plan.Goal{
				Aim: plan.AimEven, Motion: shoulder.External, Due: date("2026-04-13"), Achievement: plan.Improving,
				Targets: []plan.Target{index(shoulder.Flexion90, "89.96")},
			},
			"external rotation, even with the other side: limb symmetry index at least 90 % at 90 degrees of flexion (now 89.96 %); by 2026-04-13; improving",
		},
		{
			"even in all",
			plan.Goal{
				Aim: plan.AimEvenAll, Motion: shoulder.Internal, Due: date("2026-05-25"),
				Targets: []plan.Target{index(shoulder.AtSide, "92"), index(shoulder.Flexion90, "80"), index(shoulder.Abduction90, "")},
			},
			"internal rotation, even in all three positions: limb symmetry index at least 90 % (now with the arm at the side 92.0 %, " +
				"at 90 degrees of flexion 80.0 %, at 90 degrees of abduction not measured); by 2026-05-25; in progress",
		},
		{
			"range as part of the other side's, rounded up",
			plan.Goal{
				Aim: plan.AimRange, Due: date("2026-04-13"), Achievement: plan.NoChange,
				Targets: []plan.Target{{
					Movement: shoulder.Flexion, Threshold: atLeast("75", "%"), Value: number("128.21"), Unit: "deg", Current: new(number("120")),
				}},
			},
			"active range for an elevated position: active flexion at least 128.3 degrees (now 120 degrees); by 2026-04-13; no clear change",
		},
		{
			"pain",
			plan.Goal{
				Aim: plan.AimPain, Due: date("2026-04-13"),
				Targets: []plan.Target{{Threshold: painLimit, Value: number("5"), Unit: "{score}", Current: new(number("7"))}},
			},
			"pain within the limit: pain during the resisted test at most 5/10 (now 7/10); by 2026-04-13; in progress",
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := For("en").Goal(&tt.goal); got != tt.want {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}
