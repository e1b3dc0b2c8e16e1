package fhirjson_test

import (
	"reflect"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirtest"
	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestSamplesSurviveTheRoundTrip(t *testing.T) {
	for _, want := range jsonSamples() {
		t.Run(want.Type(), func(t *testing.T) {
			got, err := fhirjson.Decode(fhirjson.Encode(want), fhir.Limits{})
			if err != nil {
				t.Fatalf("Decode(Encode(x)): %v", err)
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("Decode(Encode(x)) (-x +got)\n%s", diff)
			}
		})
	}
}

// TestSamplesLeaveNothingOut keeps the samples complete when the model grows.
func TestSamplesLeaveNothingOut(t *testing.T) {
	set := map[string]bool{}
	for _, r := range jsonSamples() {
		noteFields(reflect.ValueOf(r), set)
	}
	for field, isSet := range set {
		if !isSet {
			t.Errorf("no sample sets %s", field)
		}
	}
}

// noteFields notes for every struct field below v whether it is ever set.
func noteFields(v reflect.Value, set map[string]bool) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			noteFields(v.Elem(), set)
		}
	case reflect.Slice:
		for i := range v.Len() {
			noteFields(v.Index(i), set)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			name := v.Type().Name() + "." + v.Type().Field(i).Name
			withoutIdentifier := name == "Common.Identifier"
			set[name] = set[name] || !v.Field(i).IsZero() || withoutIdentifier
			noteFields(v.Field(i), set)
		}
	}
}

func TestGeneratedModelsSurviveTheRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := drawResource(t)
		text := fhirjson.Encode(want)
		got, err := fhirjson.Decode(text, fhir.Limits{})
		if err != nil {
			t.Fatalf("Decode(%s): %v", text, err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("Decode(Encode(x)) (-x +got)\n%s", diff)
		}
	})
}

func TestOrderOfMembersDoesNotMatter(t *testing.T) {
	body := fhirjson.Encode(sampleParameters())
	got, err := fhirjson.Decode(typeLast(t, body), fhir.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(fhir.Resource(sampleParameters()), got); diff != "" {
		t.Errorf("with every resourceType last (-first +last)\n%s", diff)
	}
}

func TestIndentChangesWhiteSpaceOnly(t *testing.T) {
	for _, want := range jsonSamples() {
		got, err := fhirjson.Decode(fhirjson.Indent(fhirjson.Encode(want)), fhir.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-compact +indented)\n%s", want.Type(), diff)
		}
	}
}

// TestAllocationBudget holds the number of allocations that the design gives an
// Observation. It also shows that looking ahead for the types is done once.
func TestAllocationBudget(t *testing.T) {
	const observations, budget = 60, 6
	tests := []struct {
		name string
		body []byte
	}{
		{"resourceType first", fhirtest.Bundle(observations)},
		{"resourceType last", typeLast(t, fhirtest.Bundle(observations))},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			allocations := testing.AllocsPerRun(10, func() {
				if _, err := fhirjson.Decode(tt.body, fhir.Limits{}); err != nil {
					t.Fatal(err)
				}
			})
			if allocations > observations*budget {
				t.Errorf("Decode allocates %.0f times for %d Observations, want at most %d each", allocations, observations, budget)
			}
		})
	}
}
