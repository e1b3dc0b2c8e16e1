package service

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
)

// outcome is what the README of a story says that should follow, as far as a
// reviewer must not be able to renew it away with the golden files.
type outcome struct {
	overall   readiness.Overall
	flags     []redflag.Code // of which none was examined unless examined is set
	examined  bool
	doubts    []measure.Doubt
	issues    []fault.Kind // among those that are told of the input
	exercises bool
}

// outcomes are those of the stories whose point is a flag, a doubt, or neither.
var outcomes = map[string]outcome{
	"sudden-strength-loss": {overall: readiness.ExamineFirst, flags: []redflag.Code{redflag.SuddenStrengthLoss}},
	"range-loss":           {overall: readiness.ExamineFirst, flags: []redflag.Code{redflag.RangeLoss}},
	"near-zero-force":      {overall: readiness.ExamineFirst, flags: []redflag.Code{redflag.NearZeroForce}},
	"cannot-lift":          {overall: readiness.ExamineFirst, flags: []redflag.Code{redflag.CannotLift}},
	"pain-surge":           {overall: readiness.ExamineFirst, flags: []redflag.Code{redflag.PainSurge}},
	"high-rest-pain":       {overall: readiness.ExamineFirst, flags: []redflag.Code{redflag.HighRestPain}},
	"resisted-test-before-clearance": {
		overall: readiness.NotCleared, flags: []redflag.Code{redflag.ResistedBeforeClearance},
	},
	"six-weeks-after-repair": {overall: readiness.NotCleared, flags: []redflag.Code{redflag.ResistedBeforeClearance}},
	"statements-that-do-not-count": {
		overall: readiness.NotCleared, flags: []redflag.Code{redflag.ResistedBeforeClearance},
		issues: []fault.Kind{fault.DateMissing, fault.PerformerMissing, fault.ReferenceUnresolved, fault.CodeUnknown},
	},
	"examined-and-cleared": {
		overall: readiness.Strengthening, flags: []redflag.Code{redflag.SuddenStrengthLoss}, examined: true, exercises: true,
	},

	"trials-disagree": {
		overall: readiness.Strengthening, doubts: []measure.Doubt{measure.TrialsDisagree, measure.TrialsDisagree, measure.TrialsDisagree},
		issues: []fault.Kind{fault.ImplausibleValue}, exercises: true,
	},
	"sides-may-be-swapped": {
		overall: readiness.InsufficientData, doubts: []measure.Doubt{measure.SidesMayBeSwapped},
	},
	"unit-may-be-wrong": {
		overall: readiness.InsufficientData, doubts: []measure.Doubt{measure.UnitMayBeWrong},
	},
	"comparison-side-declined": {
		overall: readiness.Strengthening, doubts: []measure.Doubt{measure.ComparisonDeclined}, exercises: true,
	},
	"implausible-value":     {overall: readiness.Strengthening, issues: []fault.Kind{fault.ImplausibleValue}, exercises: true},
	"confirmed-measurement": {overall: readiness.Strengthening, exercises: true},

	"fast-recoverer":                   {overall: readiness.Strengthening, exercises: true},
	"old-patient-weak-comparison-side": {overall: readiness.Strengthening, exercises: true},
	"very-strong-athlete":              {overall: readiness.ReadyForFunctional, exercises: true},
	"weak-child":                       {overall: readiness.InsufficientData, exercises: true},
	"first-visit-stiff-shoulder":       {overall: readiness.LimitedByRange, exercises: true},
	"pain-over-the-limit":              {overall: readiness.LimitedByPain, exercises: true},

	"comparison-side-a-quarter-weaker": {overall: readiness.Strengthening, exercises: true},
	"was-even":                         {overall: readiness.Strengthening, exercises: true},
	"even-in-all-positions":            {overall: readiness.ReadyForFunctional, exercises: true},
	"repair-in-week-13":                {overall: readiness.Strengthening, exercises: true},
	"repair-in-week-21":                {overall: readiness.ReadyForFunctional, exercises: true},
	"surgeon-permits-load":             {overall: readiness.Strengthening, exercises: true},
	"both-shoulders-over-three-visits": {overall: readiness.Strengthening, exercises: true},
}

func TestStoriesEndAsTheyShould(t *testing.T) {
	for _, name := range slices.Sorted(maps.Keys(outcomes)) {
		t.Run(name, func(t *testing.T) {
			input, err := os.ReadFile(filepath.Join(scenarios, name, "input.json"))
			if err != nil {
				t.Fatal(err)
			}
			outcomes[name].check(t, answered(t, input))
		})
	}
}

func (want outcome) check(t *testing.T, a *Answer) {
	t.Helper()
	r := a.Assessment.Readiness
	if r.Overall != want.overall {
		t.Errorf("overall %v, want %v", r.Overall, want.overall)
	}
	var flags []redflag.Code
	for i := range r.Flags {
		flags = append(flags, r.Flags[i].Code)
		if r.Flags[i].Holds() == want.examined {
			t.Errorf("%v holds: %v, want %v", r.Flags[i].Code, r.Flags[i].Holds(), !want.examined)
		}
	}
	if !slices.Equal(flags, want.flags) {
		t.Errorf("red flags %v, want %v", flags, want.flags)
	}
	var doubts []measure.Doubt
	for _, d := range r.Doubts {
		doubts = append(doubts, d.Doubt)
	}
	if !slices.Equal(doubts, want.doubts) {
		t.Errorf("doubts %v, want %v", doubts, want.doubts)
	}
	want.checkInputAndPlan(t, a)
}

func (want outcome) checkInputAndPlan(t *testing.T, a *Answer) {
	t.Helper()
	for _, kind := range want.issues {
		if !slices.ContainsFunc(a.Issues, func(i fault.Issue) bool { return i.Kind == kind }) {
			t.Errorf("%v is not told of the input", kind)
		}
	}
	if got := len(a.Assessment.Plan.Exercises) > 0; got != want.exercises {
		t.Errorf("exercises: %v, want %v", got, want.exercises)
	}
}
