package intake

import (
	"slices"
	"strconv"
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
	wantIssues(t, r.Issues, "information not-read Bundle", "warning input-incomplete Bundle.entry[0].resource.entry[0].resource.entry[0].resource")
	if r.Used != 1 || !r.Episode.Incomplete {
		t.Errorf("Used = %d, missing %t, want 1 and true: a strength lies too deep", r.Used, r.Episode.Incomplete)
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

// Results of ours are kept, whatever their status; those of others, and of other
// patients, are not.
func TestEarlierAnswers(t *testing.T) {
	n := 0
	ours := func() []fhir.Identifier {
		n++
		return []fhir.Identifier{{System: fhir.SystemResult, Value: strconv.Itoa(n)}}
	}
	toPatient := &fhir.Reference{Reference: "Patient/p1"}
	byProtocol, byIdentifier, foreign, withdrawn := &fhir.CarePlan{}, &fhir.CarePlan{}, &fhir.CarePlan{}, &fhir.CarePlan{}
	for id, c := range map[string]*fhir.CarePlan{"b": byProtocol, "a": byIdentifier, "c": foreign, "d": withdrawn} {
		c.ID, c.Subject = id, toPatient
	}
	byProtocol.InstantiatesCanonical = []string{fhir.CanonicalBase + "/PlanDefinition/shoulder|1.0.0"}
	byIdentifier.Identifier = ours()
	foreign.InstantiatesCanonical = []string{"https://evenreach.example/fhirworks/PlanDefinition/x"}
	withdrawn.Identifier, withdrawn.Status, withdrawn.Meta = ours(), "entered-in-error", &fhir.Meta{LastUpdated: "2026-03-01T00:00:00Z"}
	goal, foreignGoal := &fhir.Goal{Subject: toPatient}, &fhir.Goal{Subject: toPatient}
	goal.ID, goal.Identifier = "g", ours()
	issue, report := &fhir.DetectedIssue{Patient: toPatient}, &fhir.DiagnosticReport{Subject: toPatient}
	issue.ID, report.ID, issue.Identifier, report.Identifier = "i", "r", ours(), ours()
	index, anonymous := &fhir.Observation{Subject: toPatient, Code: *ownConcept("limb-symmetry-index")}, &fhir.Observation{Code: *ownConcept("limb-symmetry-index")}
	index.ID, index.Identifier = "x", ours()
	ofNobody := &fhir.Goal{}
	ofNobody.Identifier = ours()

	r := read(t, strengthOf("s"), byProtocol, byIdentifier, foreign, withdrawn, goal, foreignGoal, issue, report, index, anonymous, ofNobody)
	var got []string
	for _, s := range r.Stored {
		got = append(got, s.Reference.Reference)
	}
	want := []string{"CarePlan/d", "CarePlan/a", "CarePlan/b", "DetectedIssue/i", "DiagnosticReport/r", "Goal/g", "Observation/x"}
	if !slices.Equal(got, want) {
		t.Errorf("kept %v, want %v: by type, the newest first", got, want)
	}
	wantIssues(t, r.Issues, "information not-read Bundle", "information not-read Bundle.entry[10].resource.code.coding[0]")
	if got, want := r.Issues[0].Diagnostic, "found CarePlan 1, Goal 1"; got != want {
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

// What is left out of a Bundle does not hide what stands behind it.
func TestBehindWhatIsLeftOut(t *testing.T) {
	deleted := bundle()
	deleted.Entry = []fhir.Entry{{Request: &fhir.Request{Method: "DELETE", URL: "Observation/a"}}, {Resource: strengthOf("a")}, {Resource: strengthOf("b")}}
	deep := bundle(bundle(bundle(bundle(strengthOf("d")), strengthOf("b"))))
	for name, b := range map[string]*fhir.Bundle{"deleted": deleted, "too deep": deep} {
		r := readInput(t, Input{Bundle: b, Involved: shoulder.Right})
		if r.Used != 1 || r.Sources[0].Reference.Reference != "Observation/b" {
			t.Errorf("%s: %d used, sources %+v, want b alone", name, r.Used, r.Sources)
		}
	}
}

// A text is quoted up to 80 bytes, and then without part of a letter.
//
// Source: RFC 3629, section 3: é has two bytes, € three.
func TestQuotesEndWithAWholeLetter(t *testing.T) {
	a := strings.Repeat("a", 100)
	for _, tt := range []struct{ text, want string }{
		{a[:80], a[:80]}, {a[:81], a[:80] + "..."}, {a[:79] + "é", a[:79] + "..."}, {a[:78] + "éa", a[:78] + "é..."}, {a[:78] + "€", a[:78] + "..."},
	} {
		if got, want := quote(tt.text), strconv.Quote(tt.want); got != want {
			t.Errorf("%d bytes are quoted as %s, want %s", len(tt.text), got, want)
		}
	}
}
