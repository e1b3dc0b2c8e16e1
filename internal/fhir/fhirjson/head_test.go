package fhirjson

import (
	"encoding/json"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirtest"
)

func TestReadHead(t *testing.T) {
	tests := []struct {
		name, body string
		want       Head
		ok         bool
	}{
		{"of an Observation", `{"resourceType":"Observation","id":"o1","subject":{"reference":"Patient/p1"},"status":"final"}`, Head{"Observation", "o1", "Patient/p1"}, true},
		{"in another order, with space", " {\"subject\": {\"display\": \"x\", \"reference\": \"Patient/p1\"} ,\n\"id\":\"o1\", \"resourceType\":\"Observation\"} ", Head{"Observation", "o1", "Patient/p1"}, true},
		{"of a resource with a patient", `{"resourceType":"DetectedIssue","patient":{"reference":"Patient/p1"}}`, Head{"DetectedIssue", "", "Patient/p1"}, true},
		{"nothing from further in", `{"resourceType":"Observation","contained":[{"id":"c","subject":{"reference":"Patient/p2"}}],"subject":{"identifier":{"assigner":{"reference":"Organization/x"}}}}`, Head{"Observation", "", ""}, true},
		{"escapes are read", `{"resourceType":"Patient","id":"\u0070\/1"}`, Head{"Patient", "p/1", ""}, true},
		{"only texts", `{"resourceType":1,"id":null,"subject":"Patient/p1"}`, Head{}, true},
		{"an empty object", `{}`, Head{}, true},
		{"cut off", `{"resourceType":"Observation","subject":{"reference":"Patient/p1"},"sta`, Head{"Observation", "", "Patient/p1"}, false},
		{"something behind it", `{"resourceType":"Patient"}}`, Head{Type: "Patient"}, false},
		{"two resources", `{"resourceType":"Patient"},{"resourceType":"Patient"}`, Head{Type: "Patient"}, false},
		{"an array", `[]`, Head{}, false},
		{"nothing", ``, Head{}, false},
		{"not UTF-8", "{\"resourceType\":\"Patient\",\"id\":\"\xff\"}", Head{Type: "Patient"}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, ok := ReadHead([]byte(tt.body))
			if got != tt.want || ok != tt.ok {
				t.Errorf("ReadHead = %+v, %v, want %+v, %v", got, ok, tt.want, tt.ok)
			}
		})
	}
}

// What ReadHead takes is JSON, and what the decoder takes has a head.
func FuzzReadHead(f *testing.F) {
	f.Add([]byte(`{"resourceType":"Observation","id":"o1","subject":{"reference":"Patient/p1"}}`))
	f.Add([]byte(`{"id":"a","id":"b","patient":[{"reference":"x"}]}`))
	f.Add(fhirtest.Bundle(1))
	f.Fuzz(func(t *testing.T, body []byte) {
		head, ok := ReadHead(body)
		if ok && !json.Valid(body) {
			t.Fatalf("ReadHead takes what is no JSON: %q", body)
		}
		resource, err := Decode(body, fhir.DefaultLimits)
		if err == nil && (!ok || head.Type != resource.Type()) {
			t.Fatalf("head %+v, %v of a %s", head, ok, resource.Type())
		}
	})
}
