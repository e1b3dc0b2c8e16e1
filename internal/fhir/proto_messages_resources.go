package fhir

import (
	"evenreach.example/internal/fault"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/anypb"
)

func (w *messageWriter) resource(r Resource) *bcrpb.ContainedResource {
	p := &bcrpb.ContainedResource{}
	switch r := r.(type) {
	case *Observation:
		p.OneofResource = &bcrpb.ContainedResource_Observation{Observation: w.observation(r)}
	case *Patient:
		p.OneofResource = &bcrpb.ContainedResource_Patient{Patient: w.patient(r)}
	case *Condition:
		p.OneofResource = &bcrpb.ContainedResource_Condition{Condition: w.condition(r)}
	case *Procedure:
		p.OneofResource = &bcrpb.ContainedResource_Procedure{Procedure: w.procedure(r)}
	case *Encounter:
		p.OneofResource = &bcrpb.ContainedResource_Encounter{Encounter: w.encounter(r)}
	case *Goal:
		p.OneofResource = &bcrpb.ContainedResource_Goal{Goal: w.goal(r)}
	case *CarePlan:
		p.OneofResource = &bcrpb.ContainedResource_CarePlan{CarePlan: w.carePlan(r)}
	case *DiagnosticReport:
		p.OneofResource = &bcrpb.ContainedResource_DiagnosticReport{DiagnosticReport: w.diagnosticReport(r)}
	case *Provenance:
		p.OneofResource = &bcrpb.ContainedResource_Provenance{Provenance: w.provenance(r)}
	case *Device:
		p.OneofResource = &bcrpb.ContainedResource_Device{Device: w.device(r)}
	case *OperationOutcome:
		p.OneofResource = &bcrpb.ContainedResource_OperationOutcome{OperationOutcome: w.operationOutcome(r)}
	case *Bundle:
		p.OneofResource = &bcrpb.ContainedResource_Bundle{Bundle: w.bundle(r)}
	default:
		w.report(fault.Internal, "", "found a resource of a type that is not written")
	}
	return p
}

// common holds the messages of what every DomainResource may carry.
type commonMessages struct {
	id            *dpb.Id
	meta          *dpb.Meta
	implicitRules *dpb.Uri
	language      *dpb.Code
	text          *dpb.Narrative
	contained     []*anypb.Any
	extension     []*dpb.Extension
	modifier      []*dpb.Extension
	identifier    []*dpb.Identifier
}

func (w *messageWriter) common(c *Common) commonMessages {
	return commonMessages{
		id:            idOf(c.ID),
		meta:          messageChild(w, "meta", c.Meta, (*messageWriter).meta),
		implicitRules: w.uri(c.ImplicitRules),
		language:      w.code(c.Language),
		text:          messageChild(w, "text", c.Text, (*messageWriter).narrative),
		contained:     messageChildren(w, "contained", c.Contained, (*messageWriter).pack),
		extension:     w.extensionList("extension", c.Extension),
		modifier:      w.extensionList("modifierExtension", c.ModifierExtension),
		identifier:    messageChildren(w, "identifier", c.Identifier, (*messageWriter).identifier),
	}
}

// pack wraps a resource that lies inside another one.
func (w *messageWriter) pack(r *Resource) *anypb.Any {
	packed := &anypb.Any{}
	err := anypb.MarshalFrom(packed, w.resource(*r), proto.MarshalOptions{Deterministic: true})
	if err != nil {
		w.report(fault.Internal, "", "found a resource that cannot be packed")
	}
	return packed
}
