package fhir_test

import (
	"fmt"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirtest"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"google.golang.org/protobuf/proto"
)

// packedBundle60 is the Bundle that speeds are quoted for, as a gRPC request
// carries it.
func packedBundle60(b *testing.B) []byte {
	packed, err := proto.Marshal(unmarshalJSON(b, fhirtest.Bundle60()).GetBundle())
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(packed)))
	b.ReportAllocs()
	return packed
}

// BenchmarkProtoUnmarshal60 is the floor under a gRPC request: the google
// messages alone.
func BenchmarkProtoUnmarshal60(b *testing.B) {
	packed := packedBundle60(b)
	for b.Loop() {
		if err := proto.Unmarshal(packed, new(bcrpb.Bundle)); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkProtoUnmarshalAndFromProto60 is what reading a gRPC request takes.
func BenchmarkProtoUnmarshalAndFromProto60(b *testing.B) {
	packed := packedBundle60(b)
	for b.Loop() {
		message := new(bcrpb.Bundle)
		if err := proto.Unmarshal(packed, message); err != nil {
			b.Fatal(err)
		}
		fromProto(b, message)
	}
}

// BenchmarkFromProto60 is the conversion alone.
func BenchmarkFromProto60(b *testing.B) {
	message := new(bcrpb.Bundle)
	if err := proto.Unmarshal(packedBundle60(b), message); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		fromProto(b, message)
	}
}

// BenchmarkProtoMarshalAnswer is the floor under a gRPC answer.
func BenchmarkProtoMarshalAnswer(b *testing.B) {
	message := toProto(b, answer())
	b.SetBytes(int64(proto.Size(message)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := proto.Marshal(message); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkToProtoAndMarshalAnswer is what writing a gRPC answer takes.
func BenchmarkToProtoAndMarshalAnswer(b *testing.B) {
	bundle := answer()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := proto.Marshal(toProto(b, bundle)); err != nil {
			b.Fatal(err)
		}
	}
}

// answer has the size of what is answered to sixty Observations: an index for
// each rotation and position, with its inputs, two Goals, a CarePlan, a report
// and where it all came from.
func answer() *fhir.Bundle {
	const cs = "https://evenreach.example/fhir/CodeSystem/shoulder"
	percent := func(v string) *fhir.Quantity {
		return &fhir.Quantity{Value: fhir.Decimal(v), Unit: "%", System: "http://unitsofmeasure.org", Code: "%"}
	}
	var all []fhir.Resource
	provenance := &fhir.Provenance{Recorded: "2026-10-05T12:00:00Z", Agent: []fhir.Agent{{Who: *to("urn:uuid:7f1c2b34-0000-5000-8000-00000000ffff")}}}
	for i := range 6 {
		index := &fhir.Observation{
			Status:         "final",
			Category:       []fhir.CodeableConcept{concept("http://terminology.hl7.org/CodeSystem/observation-category", "therapy", "")},
			Code:           concept(cs, "limb-symmetry-index", "Limb symmetry index"),
			Subject:        to("Patient/example"),
			Effective:      fhir.DateTime("2026-10-05T09:30:00+00:00"),
			Value:          percent("83.9"),
			Interpretation: []fhir.CodeableConcept{concept("http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation", "L", "")},
			BodySite:       conceptRef("http://snomed.info/sct", "91774008", "Right shoulder"),
			ReferenceRange: []fhir.ReferenceRange{{Low: percent("90")}},
		}
		index.Identifier = []fhir.Identifier{{System: cs, Value: fmt.Sprintf("index-%d", i)}}
		for _, c := range []string{"rotation", "arm-position", "certainty"} {
			index.Component = append(index.Component, fhir.Component{Code: concept(cs, c, ""), Value: conceptRef(cs, "a-code", "")})
		}
		for _, c := range []string{"interval-low", "interval-high", "probability-at-threshold"} {
			index.Component = append(index.Component, fhir.Component{Code: concept(cs, c, ""), Value: percent("71.25")})
		}
		for trial := range 10 {
			source := *to(fmt.Sprintf("Observation/strength-%d", 10*i+trial))
			index.DerivedFrom = append(index.DerivedFrom, source)
			provenance.Entity = append(provenance.Entity, fhir.ProvenanceEntity{Role: "source", What: source})
		}
		provenance.Target = append(provenance.Target, *to(fmt.Sprintf("urn:uuid:7f1c2b34-0000-5000-8000-00000000000%d", i)))
		all = append(all, index)
	}
	plan := &fhir.CarePlan{Status: "draft", Intent: "proposal", Subject: to("Patient/example"), Title: "Rotation strengthening"}
	for range 6 {
		plan.Activity = append(plan.Activity, fhir.Activity{Detail: &fhir.ActivityDetail{
			Kind: "ServiceRequest", Status: "not-started", Code: conceptRef(cs, "exercise", ""), Description: "An exercise, in words that take a line.",
		}})
	}
	goal := &fhir.Goal{
		LifecycleStatus: "proposed", Description: words("Even in every position"), Subject: to("Patient/example"),
		Target: []fhir.Target{{Measure: conceptRef(cs, "limb-symmetry-index", ""), Detail: percent("90"), DueDate: "2026-12-31"}},
	}
	report := &fhir.DiagnosticReport{
		Status: "final", Code: concept("http://loinc.org", "11508-9", ""), Subject: to("Patient/example"),
		Conclusion: "Some sentences that sum the assessment up.", Result: provenance.Target,
	}
	report.Text = &fhir.Narrative{Status: "generated", Div: fmt.Sprintf(`<div xmlns="http://www.w3.org/1999/xhtml">%01000d</div>`, 0)}
	return bundleOf(append(all, goal, goal, plan, report, provenance))
}
