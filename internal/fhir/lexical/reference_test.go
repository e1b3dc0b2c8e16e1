package lexical

import (
	"strings"
	"testing"
)

// Source: FHIR R4 4.0.1, Reference, and the regular expression of an id.
func TestSplitReference(t *testing.T) {
	tests := []struct {
		reference, base, typeName, id string
		ok                            bool
	}{
		{"Observation/1", "", "Observation", "1", true},
		{"https://record.example/fhir/Observation/a-1.b", "https://record.example/fhir/", "Observation", "a-1.b", true},
		{"Observation/" + strings.Repeat("1", 64), "", "Observation", strings.Repeat("1", 64), true},
		{reference: "Observation/" + strings.Repeat("1", 65)},
		{reference: "Observation/over there"},
		{reference: "Observation/"},
		{reference: "observation/1"},
		{reference: "/1"},
		{reference: "Observation/1/_history/2"},
		{reference: "urn:uuid:0b8ab3a1-7e2f-4b0e-9a57-5b1f5f7f0c11"},
		{reference: "#p1"},
		{reference: ""},
	}
	for _, tt := range tests {
		base, typeName, id, ok := SplitReference(tt.reference)
		if base != tt.base || typeName != tt.typeName || id != tt.id || ok != tt.ok {
			t.Errorf("%q: %q %q %q %v, want %q %q %q %v", tt.reference, base, typeName, id, ok, tt.base, tt.typeName, tt.id, tt.ok)
		}
	}
}

func TestWithoutVersion(t *testing.T) {
	for reference, want := range map[string]string{"Observation/1/_history/2": "Observation/1", "Observation/1": "Observation/1"} {
		if got := WithoutVersion(reference); got != want {
			t.Errorf("%q: %q, want %q", reference, got, want)
		}
	}
}
