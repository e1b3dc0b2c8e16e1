package service

import (
	"context"
	"os"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/wording"
)

// An incomplete record opens nothing, however good what is there looks. Source: ours,
// because what is missing may forbid it.
func TestIncompleteRecordOpensNothing(t *testing.T) {
	body, err := os.ReadFile("../../testdata/scenarios/even-in-all-positions/input.json")
	if err != nil {
		t.Fatal(err)
	}
	whole := run(t, body)
	if whole.Assessment.Readiness.Motions[0].Step <= readiness.StepAtSide {
		t.Fatalf("the story stands at %v, so that it is no case", whole.Assessment.Readiness.Motions[0].Step)
	}
	q, err := Decode(body)
	if err != nil {
		t.Fatal(err)
	}
	q.Bundle.BundleType, q.Bundle.Total = "searchset", 20_000
	part, err := scenarioPipeline().Run(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	if first := part.Issues[0]; first.Severity != fault.Error || first.Kind != fault.InputIncomplete {
		t.Errorf("the first issue is %v, want that the input is incomplete", first)
	}
	r := part.Assessment.Readiness
	if r.Overall != readiness.InsufficientData {
		t.Errorf("overall %v, want insufficient-data", r.Overall)
	}
	for i := range r.Motions {
		if r.Motions[i].Step > readiness.StepAtSide || r.Motions[i].Next != readiness.NoStep {
			t.Errorf("step %v, next %v; want the arm at the side and no step up", r.Motions[i].Step, r.Motions[i].Next)
		}
	}
	for _, e := range part.Assessment.Plan.Exercises {
		if e.Purpose == plan.BeginFunction || e.Purpose == plan.FullFunction || e.Position.Elevated() {
			t.Errorf("the plan has %v", e)
		}
	}
	if asked := part.Assessment.Plan.Requests[0]; asked.Ask != plan.AskRecord || !asked.First {
		t.Errorf("the plan asks first for %v, want the complete record", asked.Ask)
	}
	for language, says := range map[string]string{"en": "Some of the record is missing", "de": "Ein Teil der Akte fehlt", "fr": "Une partie du dossier manque"} {
		words := wording.For(language)
		lines := words.Alarms(r, part.Assessment.Plan)
		if len(lines) == 0 || !strings.HasPrefix(lines[0], says) {
			t.Errorf("%s: the first line is %q, want %q", language, lines, says)
		}
	}
}

func run(t *testing.T, body []byte) *Answer {
	t.Helper()
	q, err := Decode(body)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := scenarioPipeline().Run(context.Background(), q)
	if err != nil {
		t.Fatal(err)
	}
	return answer
}
