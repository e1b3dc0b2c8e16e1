package fhirjson

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"github.com/google/go-cmp/cmp"
)

// TestElementsAreThoseOfR4 holds what the descriptors of google/fhir say against
// what was copied from the specification.
func TestElementsAreThoseOfR4(t *testing.T) {
	if diff := cmp.Diff(slices.Sorted(maps.Keys(r4)), slices.Sorted(maps.Keys(elements))); diff != "" {
		t.Errorf("types (-R4 +generated)\n%s", diff)
	}
	for typeName, listed := range r4 {
		want, got := slices.Sorted(slices.Values(listed)), slices.Sorted(slices.Values(elements[typeName]))
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s (-R4 +generated)\n%s", typeName, diff)
		}
	}
}

func TestResourceTypesAreThoseOfR4(t *testing.T) {
	if diff := cmp.Diff(r4ResourceTypes, resourceTypes); diff != "" {
		t.Errorf("(-R4 +generated)\n%s", diff)
	}
}

// TestEveryElementOfR4IsTaken tries each element alone: whatever else is wrong
// with it, its name is known.
func TestEveryElementOfR4IsTaken(t *testing.T) {
	tried := 0
	for typeName, listed := range r4 {
		if !isResourceType(typeName) {
			continue
		}
		for _, element := range listed {
			for _, name := range []string{element, strings.TrimPrefix(element, "_")} {
				tried++
				_, err := Decode([]byte(`{"resourceType":"`+typeName+`","`+name+`":{"x":1}}`), fhir.Limits{})
				if err != nil && strings.Contains(err.Error(), "unknown-element at "+typeName+"."+name+":") {
					t.Errorf("%s.%s: %v", typeName, name, err)
				}
			}
		}
	}
	if tried == 0 {
		t.Fatal("no element was tried")
	}
}
