package intake

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func TestEveryBundleType(t *testing.T) {
	for _, kind := range []string{"collection", "batch-response", "searchset", "message", "transaction", "document", "history"} {
		b := bundle(&fhir.Other{TypeName: "MessageHeader"}, strengthOf("a"), &fhir.OperationOutcome{})
		b.BundleType = kind
		r := readInput(t, Input{Bundle: b, Involved: shoulder.Right})
		wantIssues(t, r.Issues, "information not-read Bundle")
		if r.Used != 1 {
			t.Errorf("%s: Used = %d, want 1", kind, r.Used)
		}
	}
}

func TestNestedBundle(t *testing.T) {
	b := bundle(bundle(strengthOf("a"), strengthOf("b", onSide("72696002"))))
	r := readInput(t, Input{Bundle: b, Root: "Parameters.parameter[2].resource", Involved: shoulder.Right})
	if got, want := r.Sources[0].Path, "Parameters.parameter[2].resource.entry[0].resource.entry[0].resource"; got != want {
		t.Errorf("Path = %q, want %q", got, want)
	}
	wantIssues(t, r.Issues, "warning side-missing Parameters.parameter[2].resource.entry[0].resource.entry[1].resource.bodySite")
}

func TestBundlesTooDeep(t *testing.T) {
	deep := bundle(strengthOf("b"))
	for range 2000 {
		deep = bundle(deep)
	}
	deep.Entry = append(deep.Entry, fhir.Entry{Resource: strengthOf("a")})
	r := readInput(t, Input{Bundle: deep, Involved: shoulder.Right})
	wantIssues(t, r.Issues, "information not-read Bundle")
	if r.Used != 1 {
		t.Errorf("Used = %d, want 1", r.Used)
	}
}

func TestDiagnosticsAreShort(t *testing.T) {
	r := read(t, strengthOf("a"), strengthOf("b", value(ucum("1", strings.Repeat("é", 1000)))))
	if got, limit := len(r.Issues[0].Diagnostic), maxQuote+len(`found "..."`); got > limit || !utf8.ValidString(r.Issues[0].Diagnostic) {
		t.Errorf("a diagnostic of %d bytes, want at most %d, cut at a whole character", got, limit)
	}
}

func TestDeletedInTheSameBundle(t *testing.T) {
	b := bundle(strengthOf("a"), strengthOf("b"))
	b.Entry = append(b.Entry, fhir.Entry{Request: &fhir.Request{Method: "DELETE", URL: "Observation/b"}})
	r := readInput(t, Input{Bundle: b, Involved: shoulder.Right})
	wantIssues(t, r.Issues, "warning status-retracted Bundle.entry[1].resource")
	if r.Used != 1 {
		t.Errorf("Used = %d, want 1", r.Used)
	}
}

func TestResourcesOutsideTheScopeAreCounted(t *testing.T) {
	r := read(t, strengthOf("a"), &fhir.Other{TypeName: "Practitioner", ID: "x"}, &fhir.Other{TypeName: "Practitioner", ID: "y"},
		&fhir.DiagnosticReport{}, conditionOf("c", "38341003"))
	wantIssues(t, r.Issues, "information not-read Bundle")
	if got, want := r.Issues[0].Diagnostic, "found Condition 1, DiagnosticReport 1, Practitioner 2"; got != want {
		t.Errorf("Diagnostic = %q, want %q", got, want)
	}
}

func TestEarlierAnswers(t *testing.T) {
	ourPlan, byIdentifier, foreign, withdrawn := &fhir.CarePlan{}, &fhir.CarePlan{}, &fhir.CarePlan{}, &fhir.CarePlan{}
	ourPlan.ID, byIdentifier.ID, foreign.ID, withdrawn.ID = "b", "a", "c", "d"
	ourPlan.InstantiatesCanonical = []string{fhir.CanonicalBase + "/PlanDefinition/shoulder|1.0.0"}
	withdrawn.InstantiatesCanonical, withdrawn.Status = ourPlan.InstantiatesCanonical, "entered-in-error"
	byIdentifier.Identifier = []fhir.Identifier{{System: fhir.CanonicalBase + "/NamingSystem/plan", Value: "1"}}
	foreign.InstantiatesCanonical = []string{"https://evenreach.example/fhirworks/PlanDefinition/x"}
	ourGoal, foreignGoal := &fhir.Goal{}, &fhir.Goal{}
	ourGoal.Identifier = []fhir.Identifier{{System: fhir.CanonicalBase + "/NamingSystem/goal", Value: "1"}}

	r := read(t, strengthOf("s"), ourPlan, byIdentifier, foreign, withdrawn, ourGoal, foreignGoal)
	want := []fhir.Reference{{Reference: "CarePlan/a"}, {Reference: "CarePlan/b"}}
	if !slices.Equal(r.Replaces, want) {
		t.Errorf("Replaces = %+v, want %+v", r.Replaces, want)
	}
	wantIssues(t, r.Issues, "information not-read Bundle")
	if got, want := r.Issues[0].Diagnostic, "found CarePlan 2, Goal 1"; got != want {
		t.Errorf("Diagnostic = %q, want %q", got, want)
	}
}

func TestReferenceOfASource(t *testing.T) {
	const urn = "urn:uuid:7b0f6a52-0d3e-4f0e-8a11-111111111111"
	id := fhir.Identifier{System: "urn:site", Value: "1"}
	tests := []struct {
		name  string
		entry fhir.Entry
		want  fhir.Reference
	}{
		{"absolute", fhir.Entry{FullURL: "http://example.org/fhir/Observation/a", Resource: strengthOf("a")}, fhir.Reference{Reference: "http://example.org/fhir/Observation/a"}},
		{"urn", fhir.Entry{FullURL: urn, Resource: strengthOf("a")}, fhir.Reference{Reference: urn}},
		{"id", fhir.Entry{Resource: strengthOf("a")}, fhir.Reference{Reference: "Observation/a"}},
		{"identifier", fhir.Entry{Resource: strengthOf("", named(id))}, fhir.Reference{Identifier: &id}},
		{"nothing", fhir.Entry{Resource: strengthOf("")}, fhir.Reference{}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := readInput(t, Input{Bundle: &fhir.Bundle{Entry: []fhir.Entry{tt.entry}}, Involved: shoulder.Right})
			got := r.Sources[0].Reference
			if got.Reference != tt.want.Reference || (got.Identifier == nil) != (tt.want.Identifier == nil) {
				t.Errorf("Reference = %+v, want %+v", got, tt.want)
			}
		})
	}
}
