package intake

import (
	"testing"

	"evenreach.example/internal/fhir"
)

func TestResolve(t *testing.T) {
	const urn = "urn:uuid:0b8ab3a1-7e2f-4b0e-9a57-5b1f5f7f0c11"
	encounter := func(id string) *fhir.Encounter {
		e := &fhir.Encounter{}
		e.ID = id
		return e
	}
	b := &fhir.Bundle{Entry: []fhir.Entry{
		{FullURL: "http://a.example/fhir/Encounter/1", Resource: encounter("1")},
		{FullURL: urn, Resource: encounter("2")},
		{Resource: encounter("3")},
		{FullURL: "http://a.example/fhir/Encounter/4", Resource: encounter("4")},
		{FullURL: "http://b.example/fhir/Encounter/4", Resource: encounter("4")},
		{FullURL: "http://a.example/fhir/Practitioner/5", Resource: &fhir.Other{TypeName: "Practitioner", ID: "5"}},
	}}
	entries := (&reader{root: "Bundle"}).flatten(b)
	d := newDirectory(entries)
	tests := []struct {
		name, reference, from string
		want                  referenceTarget
	}{
		{"absolute", "http://a.example/fhir/Encounter/1", "", referenceTarget{"http://a.example/fhir/Encounter/1", "Encounter"}},
		{"of a version", "http://a.example/fhir/Encounter/1/_history/7", "", referenceTarget{"http://a.example/fhir/Encounter/1", "Encounter"}},
		{"urn", urn, "", referenceTarget{urn, "Encounter"}},
		{"unknown urn", urn + "0", "", referenceTarget{urn + "0", ""}},
		{"relative, no server known", "Encounter/1", "", referenceTarget{"http://a.example/fhir/Encounter/1", "Encounter"}},
		{"relative to the same server", "Encounter/1", "http://a.example/fhir/Observation/9", referenceTarget{"http://a.example/fhir/Encounter/1", "Encounter"}},
		{"relative to another server", "Encounter/1", "http://b.example/fhir/Observation/9", referenceTarget{"http://b.example/fhir/Encounter/1", "Encounter"}},
		{"another server's", "http://b.example/fhir/Encounter/1", "", referenceTarget{"http://b.example/fhir/Encounter/1", "Encounter"}},
		{"relative to a resource with a urn", "Encounter/2", "http://a.example/fhir/Observation/9", referenceTarget{urn, "Encounter"}},
		{"absolute to a resource with an id only", "http://a.example/fhir/Encounter/3", "", referenceTarget{"Encounter/3", "Encounter"}},
		{"the same id on two servers", "Encounter/4", "", referenceTarget{"Encounter/4", "Encounter"}},
		{"one of two servers", "Encounter/4", "http://b.example/fhir/Observation/9", referenceTarget{"http://b.example/fhir/Encounter/4", "Encounter"}},
		{"a type that is not read", "Practitioner/5", "", referenceTarget{"http://a.example/fhir/Practitioner/5", "Practitioner"}},
		{"nothing like a reference", "see/over there", "", referenceTarget{"see/over there", ""}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := d.resolve(tt.reference, baseOf(tt.from)); got != tt.want {
				t.Errorf("resolve(%q) = %+v, want %+v (FHIR R4, resolving references in bundles)", tt.reference, got, tt.want)
			}
		})
	}
}
