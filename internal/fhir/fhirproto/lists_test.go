package fhirproto_test

import (
	"errors"
	"runtime"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/fhirproto"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	opb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/observation_go_proto"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/anypb"
)

// A message of eight megabytes of elements without content is refused, with the place of the list that is too long, and no
// memory is taken for them.
func TestManyElementsTakeLittleMemory(t *testing.T) {
	const many = 2_700_000 // of three bytes
	for list, fill := range map[string]func(*opb.Observation){
		"category":   func(o *opb.Observation) { o.Category = make([]*dpb.CodeableConcept, many) },
		"component":  func(o *opb.Observation) { o.Component = make([]*opb.Observation_Component, many) },
		"note":       func(o *opb.Observation) { o.Note = make([]*dpb.Annotation, many) },
		"identifier": func(o *opb.Observation) { o.Identifier = make([]*dpb.Identifier, many) },
		"contained":  func(o *opb.Observation) { o.Contained = make([]*anypb.Any, many) },
		"performer":  func(o *opb.Observation) { o.Performer = make([]*dpb.Reference, many) },
	} {
		data, err := proto.Marshal(observationBundle(fill))
		if err != nil || len(data) < many {
			t.Fatalf("%s: %d bytes, %v", list, len(data), err)
		}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err = fhirproto.ReadInput(data)
		runtime.ReadMemStats(&after)
		refusal, ok := errors.AsType[*fault.Errors](err)
		if !ok || refusal.Kind() != fault.TooLong || refusal.Issues[0].Path != "Bundle.entry[0].resource."+list {
			t.Errorf("%s: %.300v, want it refused as too long, with the place", list, err)
		}
		if allocated := after.TotalAlloc - before.TotalAlloc; allocated > 1<<20 {
			t.Errorf("%s: %d bytes allocated for %d, want hardly any", list, allocated, len(data))
		}
	}
}
