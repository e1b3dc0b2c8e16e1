package assess_test

import (
	"os"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/course"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
)

// BenchmarkAssessTenVisits is the computation alone on a long course of care,
// about 120 Observations, as it is read from the record: the whole of it, and the model of
// the course alone, so that what is left is the assessment without it.
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
	e, p := &reading.Episode, protocol.Default()
	m := measure.Measure(e, p)
	b.Run("whole", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			assess.Assess(e, p, reading.AsOf)
		}
	})
	b.Run("model alone", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			course.Episode(e, m, p).AllEvenBefore(e.Latest(), reading.AsOf)
		}
	})
}
