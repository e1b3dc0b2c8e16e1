package fhirjson

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
)

// A resource of a type that R4 has not is refused, and named as one of another version if it is one.
func TestTypesOfOtherVersions(t *testing.T) {
	for typeName, want := range map[string]bool{"Transport": true, "ReferralRequest": true, "Observaton": false, "observation": false, "": false} {
		_, err := Decode([]byte(`{"resourceType":"`+typeName+`","status":"final"}`), fhir.DefaultLimits)
		if err == nil || strings.Contains(err.Error(), "another version of FHIR has it") != want {
			t.Errorf("%q: %v, want another version named %v", typeName, err, want)
		}
	}
	for _, typeName := range otherVersions {
		if isResourceType(typeName) {
			t.Errorf("FHIR R4 has %s", typeName)
		}
	}
}

// No element of R4 is said to be one of R5.
func TestLaterElementsAreNotOfR4(t *testing.T) {
	for typeName, elements := range later {
		for _, e := range elements {
			if slices.Contains(r4[typeName], e) || slices.Contains(r4[typeName], "_"+e) {
				t.Errorf("R4 has %s.%s", typeName, e)
			}
		}
	}
}

func TestR5IsNamed(t *testing.T) {
	for body, want := range map[string]bool{
		`{"resourceType":"Encounter","status":"finished","class":{"code":"AMB"},"actualPeriod":{"start":"2026-03-02"}}`:           true,
		`{"resourceType":"Procedure","status":"completed","subject":{"reference":"Patient/1"},"occurrenceDateTime":"2026-03-02"}`: true,
		`{"resourceType":"Procedure","status":"completed","subject":{"reference":"Patient/1"},"colour":"red"}`:                    false,
	} {
		_, err := Decode([]byte(body), fhir.DefaultLimits)
		if err == nil || strings.Contains(err.Error(), "R5") != want {
			t.Errorf("%s: %v, want R5 named %v", body, err, want)
		}
	}
}
