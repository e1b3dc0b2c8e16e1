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

// An entry of which nobody can tell what it is may be a pain or a lost strength of the patient, so that no readiness is
// declared beside it; nonsense that is about somebody else, or about what is never read, takes nothing away. Source: ours.
func TestWhatNobodyCanReadOpensNothing(t *testing.T) {
	body, err := os.ReadFile("../../testdata/scenarios/even-in-all-positions/input.json")
	if err != nil {
		t.Fatal(err)
	}
	const entries = `"entry": [`
	if strings.Count(string(body), entries) != 1 {
		t.Fatal("the entries are not found")
	}
	whole := run(t, body).Assessment.Readiness
	for name, tt := range map[string]struct {
		entry string
		holds bool
	}{
		"no resourceType":              {`{"resource":{"status":"final","subject":{"reference":"Patient/demo-1"}}}`, true},
		"a number for a resourceType":  {`{"resource":{"resourceType":1}}`, true},
		"a text for a resource":        {`{"resource":"Observation"}`, true},
		"an empty resource":            {`{"resource":{}}`, true},
		"null":                         {`null`, true},
		"no resource at all":           {`{"fullUrl":"https://record.example/Observation/1"}`, true},
		"no type, of somebody else":    {`{"resource":{"subject":{"reference":"Patient/somebody-else"}}}`, false},
		"a broken Goal":                {`{"resource":{"resourceType":"Goal","lifecycleStatus":{}}}`, false},
		"a type of another version":    {`{"resource":{"resourceType":"Transport"}}`, false},
		"a broken pulse":               {`{"resource":{"resourceType":"Observation","status":1,"code":{"coding":[{"system":"http://loinc.org","code":"8867-4"}]}}}`, false},
		"a deletion of something else": {`{"request":{"method":"DELETE","url":"Observation/something-else"}}`, false},
	} {
		t.Run(name, func(t *testing.T) {
			r := run(t, []byte(strings.Replace(string(body), entries, entries+tt.entry+",", 1))).Assessment.Readiness
			want := whole.Overall
			if tt.holds {
				want = readiness.InsufficientData
			}
			if r.Overall != want || r.Incomplete != tt.holds {
				t.Errorf("overall %v, counts as missing: %t, want %v and %t", r.Overall, r.Incomplete, want, tt.holds)
			}
			for i := range r.Motions {
				if held := r.Motions[i].Step <= readiness.StepAtSide; held != tt.holds {
					t.Errorf("step %v, want it held at the side: %t", r.Motions[i].Step, tt.holds)
				}
			}
		})
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
