package fhir

import (
	"evenreach.example/internal/fault"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/anypb"
)

// resource reads the resource of an entry, or nil if there is none.
func (r *reader) resource(name string, p *bcrpb.ContainedResource) (resource Resource) {
	if p == nil {
		return nil
	}
	if r.enter(name, single) {
		resource = r.anyResource(p)
	}
	r.leave()
	return resource
}

func (r *reader) anyResource(p *bcrpb.ContainedResource) Resource {
	switch c := p.OneofResource.(type) {
	case *bcrpb.ContainedResource_Observation:
		return resourceOf(r, c.Observation, (*reader).observation)
	case *bcrpb.ContainedResource_Patient:
		return resourceOf(r, c.Patient, (*reader).patient)
	case *bcrpb.ContainedResource_Condition:
		return resourceOf(r, c.Condition, (*reader).condition)
	case *bcrpb.ContainedResource_Procedure:
		return resourceOf(r, c.Procedure, (*reader).procedure)
	case *bcrpb.ContainedResource_Encounter:
		return resourceOf(r, c.Encounter, (*reader).encounter)
	case *bcrpb.ContainedResource_Goal:
		return resourceOf(r, c.Goal, (*reader).goal)
	case *bcrpb.ContainedResource_CarePlan:
		return resourceOf(r, c.CarePlan, (*reader).carePlan)
	case *bcrpb.ContainedResource_DiagnosticReport:
		return resourceOf(r, c.DiagnosticReport, (*reader).diagnosticReport)
	case *bcrpb.ContainedResource_Provenance:
		return resourceOf(r, c.Provenance, (*reader).provenance)
	case *bcrpb.ContainedResource_Device:
		return resourceOf(r, c.Device, (*reader).device)
	case *bcrpb.ContainedResource_OperationOutcome:
		return resourceOf(r, c.OperationOutcome, (*reader).operationOutcome)
	case *bcrpb.ContainedResource_Bundle:
		return resourceOf(r, c.Bundle, (*reader).bundle)
	default:
		return r.other(p)
	}
}

// resourceOf reads a resource of a known type. A nil message is an empty one.
func resourceOf[P any, R any, PR interface {
	*R
	Resource
}](r *reader, p *P, read func(*reader, *P) PR) Resource {
	if p == nil {
		p = new(P)
	}
	return read(r, p)
}

// other names a resource of a type that is not read. Such resources are few in
// an episode, so it may ask the descriptor.
func (r *reader) other(p *bcrpb.ContainedResource) Resource {
	m := p.ProtoReflect()
	field := m.WhichOneof(m.Descriptor().Oneofs().Get(0))
	if field == nil {
		r.report(fault.Structure, "", "found a resource without a type, expected a type of FHIR R4")
		return nil
	}
	o := &Other{TypeName: string(field.Message().Name())}
	if identified, ok := m.Get(field).Message().Interface().(interface{ GetId() *dpb.Id }); ok {
		o.ID = r.id("id", identified.GetId())
	}
	return o
}

// domainResource is what every generated DomainResource has.
type domainResource interface {
	GetId() *dpb.Id
	GetMeta() *dpb.Meta
	GetImplicitRules() *dpb.Uri
	GetLanguage() *dpb.Code
	GetText() *dpb.Narrative
	GetContained() []*anypb.Any
	GetExtension() []*dpb.Extension
	GetModifierExtension() []*dpb.Extension
}

func (r *reader) common(p domainResource, identifiers []*dpb.Identifier) Common {
	return Common{
		ID:                r.id("id", p.GetId()),
		Meta:              optional(r, &r.metas, "meta", p.GetMeta(), (*reader).meta),
		Language:          r.code("language", p.GetLanguage()),
		ImplicitRules:     r.uri("implicitRules", p.GetImplicitRules()),
		Text:              optional(r, &r.narratives, "text", p.GetText(), (*reader).narrative),
		Contained:         r.contained(p.GetContained()),
		Extension:         r.extensionList("extension", p.GetExtension()),
		ModifierExtension: r.extensionList("modifierExtension", p.GetModifierExtension()),
		Identifier:        repeated(r, &r.identifiers, "identifier", identifiers, (*reader).identifier),
	}
}

// contained reads the resources inside another one, each of which is a packed
// ContainedResource.
func (r *reader) contained(ps []*anypb.Any) []Resource {
	if len(ps) == 0 {
		return nil
	}
	resources := r.resources.Take(len(ps))
	for i, p := range ps {
		if r.enter("contained", i) {
			resources[i] = r.unpack(p)
		}
		r.leave()
	}
	return resources
}

// unpack reads a packed ContainedResource.
func (r *reader) unpack(p *anypb.Any) Resource {
	inner := new(bcrpb.ContainedResource)
	if !p.MessageIs(inner) {
		r.report(fault.Structure, "", "found another message; expected a google.fhir.r4.core.ContainedResource")
		return nil
	}
	if err := proto.Unmarshal(p.Value, inner); err != nil {
		r.report(fault.Structure, "", "found a message that cannot be read; expected a google.fhir.r4.core.ContainedResource")
		return nil
	}
	return r.anyResource(inner)
}
