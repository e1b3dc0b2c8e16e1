package fault

import (
	"regexp"
	"slices"
	"testing"
)

func TestEveryKindHasARow(t *testing.T) {
	// FHIR R4 4.0.1, CodeSystem issue-type.
	issueTypes := []string{
		"invalid", "structure", "required", "value", "invariant", "security", "login", "unknown", "expired",
		"forbidden", "suppressed", "processing", "not-supported", "duplicate", "multiple-matches", "not-found",
		"deleted", "too-long", "code-invalid", "extension", "too-costly", "business-rule", "conflict", "transient",
		"lock-error", "no-store", "exception", "timeout", "incomplete", "throttled", "informational",
	}
	slug := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	seen := map[string]bool{}
	for _, k := range Kinds() {
		if !slug.MatchString(k.String()) || seen[k.String()] {
			t.Errorf("kind %d: code %q is malformed or taken", k, k)
		}
		seen[k.String()] = true
		if !slices.Contains(issueTypes, k.IssueType()) {
			t.Errorf("%v: %q is no FHIR issue type", k, k.IssueType())
		}
		if k.Display() == "" {
			t.Errorf("%v has no display", k)
		}
	}
}

func TestKindOutsideTheListIsADefect(t *testing.T) {
	if got := Kind(250).String(); got != "internal" {
		t.Errorf("Kind(250) = %q, want internal", got)
	}
}

func TestNew(t *testing.T) {
	tests := []struct {
		name   string
		issues []Issue
		refuse bool
	}{
		{"nothing found", nil, false},
		{"a warning refuses nothing", []Issue{{Severity: Warning, Kind: SideMissing}}, false},
		{"an error refuses", []Issue{{Severity: Warning}, {Severity: Error, Kind: BadValue}}, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := New(tt.issues) != nil; got != tt.refuse {
				t.Errorf("New refuses = %v, want %v", got, tt.refuse)
			}
		})
	}
}

func TestKindOfSeveral(t *testing.T) {
	e := &Errors{Issues: []Issue{
		{Severity: Warning, Kind: Internal},
		{Severity: Error, Kind: NoInvolvedSide},
		{Severity: Error, Kind: BadValue},
	}}
	if got := e.Kind(); got != BadValue {
		t.Errorf("Kind() = %v, want %v: the most severe, then the first of the list", got, BadValue)
	}
}

func TestErrorTextHoldsNoInput(t *testing.T) {
	e := &Errors{Issues: []Issue{{Kind: BadValue, Path: "Bundle.type", Detail: "expected a code", Diagnostic: "CANARY"}}}
	if got, want := e.Error(), "bad-value at Bundle.type: expected a code"; got != want {
		t.Errorf("Error() = %q, want %q", got, want)
	}
}

func TestSortReadsNumbers(t *testing.T) {
	issues := []Issue{{Path: "Bundle.entry[10].resource"}, {Path: "Bundle.entry[2].resource.code"}, {Path: "Bundle.entry[2].resource"}, {Path: ""}}
	Sort(issues)
	var got []string
	for _, i := range issues {
		got = append(got, i.Path)
	}
	want := []string{"", "Bundle.entry[2].resource", "Bundle.entry[2].resource.code", "Bundle.entry[10].resource"}
	if !slices.Equal(got, want) {
		t.Errorf("Sort = %q, want %q", got, want)
	}
}
