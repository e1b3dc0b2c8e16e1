package record

import (
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirtest"
	"evenreach.example/internal/protocol"
)

// The Bundle that speeds are quoted for: five sessions, so every kind of result.
func BenchmarkBuild(b *testing.B) {
	resource, err := fhirjson.Decode(fhirtest.Bundle60(), fhir.DefaultLimits)
	if err != nil {
		b.Fatal(err)
	}
	a, reading := asSent(b, resource).assessed(b, protocol.Default())
	b.Run("build", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			Build(a, reading, Options{})
		}
	})
	b.Run("encode", func(b *testing.B) {
		answer := Build(a, reading, Options{})
		b.ReportAllocs()
		var out []byte
		for b.Loop() {
			out = fhirjson.AppendResource(out[:0], answer)
		}
		b.SetBytes(int64(len(out)))
	})
}
