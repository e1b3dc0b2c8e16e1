package fhirjson_test

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirtest"
	"github.com/google/go-cmp/cmp"
)

// TestRememberedValues reads histories, which repeat themselves, and holds the
// result against a reading of every value.
func TestRememberedValues(t *testing.T) {
	bodies := map[string][]byte{"60 Observations": fhirtest.Bundle60()}
	files, err := filepath.Glob("../../../testdata/scenarios/*/input.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("found %d scenarios (%v)", len(files), err)
	}
	for _, file := range files {
		if bodies[file], err = os.ReadFile(file); err != nil {
			t.Fatal(err)
		}
	}
	for name, body := range bodies {
		got, gotErr := fhirjson.Decode(body, fhir.DefaultLimits)
		want, wantErr := fhirjson.DecodeWithoutReuse(body, fhir.DefaultLimits)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s is read otherwise (-read anew +reused):\n%s", name, diff)
		}
		if diff := cmp.Diff(wantErr, gotErr); diff != "" {
			t.Errorf("%s is refused otherwise (-read anew +reused):\n%s", name, diff)
		}
	}
}

// TestRepeatedProblem wants a problem told at each place where it is.
func TestRepeatedProblem(t *testing.T) {
	const bad = `{"coding":[{"code":" N"}]}`
	issues := refused(t, observation(`"bodySite":`+bad+`,"method":`+bad+`,"dataAbsentReason":`+bad), fhir.Limits{})
	want := []found{
		{fault.BadValue, "Observation.bodySite.coding[0].code"},
		{fault.BadValue, "Observation.method.coding[0].code"},
		{fault.BadValue, "Observation.dataAbsentReason.coding[0].code"},
	}
	if got := summary(issues); !slices.Equal(got, want) {
		t.Errorf("issues %v, want %v", got, want)
	}
}

// TestRepeatedDeeper repeats a value one level deeper than the limit lets it
// reach.
func TestRepeatedDeeper(t *testing.T) {
	const concept = `{"coding":[{"code":"N"}]}`
	body := observation(`"bodySite":` + concept + `,"referenceRange":[{"type":` + concept + `}]`)
	deepest := strings.Count(`{[{{[{`, "") - 1
	if _, err := fhirjson.Decode([]byte(body), fhir.Limits{Depth: deepest}); err != nil {
		t.Errorf("at the limit: %v", err)
	}
	issues := refused(t, body, fhir.Limits{Depth: deepest - 1})
	if want := []found{{fault.TooLong, "Observation.referenceRange[0].type.coding[0]"}}; !slices.Equal(want, summary(issues)) {
		t.Errorf("issues %v, want %v", summary(issues), want)
	}
}

// TestRepeatedBeginning gives values that begin alike, and more of them than are
// remembered.
func TestRepeatedBeginning(t *testing.T) {
	var codings []string
	for n := range 40 {
		codings = append(codings, `{"coding":[{"code":"`+strings.Repeat("N", n%20+1)+`"}]}`)
	}
	body := []byte(observation(`"category":[` + strings.Join(codings, ",") + `],"bodySite":{"text":"a"},"method":{"text":"ab"},"dataAbsentReason":{"text":"a"}`))
	got, err := fhirjson.Decode(body, fhir.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	want, err := fhirjson.DecodeWithoutReuse(body, fhir.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-read anew +reused):\n%s", diff)
	}
}
