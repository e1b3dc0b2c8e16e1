package fhirtest_test

import (
	"bytes"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirtest"
)

func TestBundle(t *testing.T) {
	for _, n := range []int{0, 1, 12, 60, 1000} {
		body := fhirtest.Bundle(n)
		if !bytes.Equal(body, fhirtest.Bundle(n)) {
			t.Errorf("Bundle(%d) differs from call to call", n)
		}
		r, err := fhirjson.Decode(body, fhir.DefaultLimits)
		if err != nil {
			t.Fatalf("Bundle(%d): %v", n, err)
		}
		count := map[string]int{}
		for _, e := range r.(*fhir.Bundle).Entry {
			count[e.Resource.Type()]++
		}
		if count["Patient"] != 1 || count["Condition"] != 2 || count["Procedure"] != 1 || count["Observation"] != n {
			t.Errorf("Bundle(%d) holds %v, want a Patient, two Conditions, a Procedure and %d Observations", n, count, n)
		}
	}
}

// TestBundle60HasTheQuotedSize keeps the Bundle comparable with the one that
// speeds are quoted for, of 94 kB.
func TestBundle60HasTheQuotedSize(t *testing.T) {
	if size := len(fhirtest.Bundle60()); size < 90_000 || size > 98_000 {
		t.Errorf("Bundle60 has %d bytes, want about 94,000", size)
	}
}
