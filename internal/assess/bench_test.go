package assess_test

import (
	"os"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/protocol"
)

// BenchmarkAssessTenVisits is the computation alone on a long course of care,
// about 120 Observations, as it is read from the record.
func BenchmarkAssessTenVisits(b *testing.B) {
	body, err := os.ReadFile("../../testdata/scenarios/ten-visits/input.json")
	if err != nil {
		b.Fatal(err)
	}
	resource, err := fhirjson.Decode(body, fhir.DefaultLimits)
	if err != nil {
		b.Fatal(err)
	}
	reading, err := intake.Read(intake.Input{Bundle: resource.(*fhir.Bundle)})
	if err != nil {
		b.Fatal(err)
	}
	p := protocol.Default()
	b.ReportAllocs()
	for b.Loop() {
		assess.Assess(&reading.Episode, p, reading.AsOf)
	}
}
