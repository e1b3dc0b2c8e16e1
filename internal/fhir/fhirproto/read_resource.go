package fhirproto

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/anypb"
)

// resource reads the resource of an entry, or nil if there is none.
func (r *reader) resource(name string, p *bcrpb.ContainedResource) (resource fhir.Resource) {
	if p == nil {
		return nil
	}
	if r.enter(name, single) {
		resource = r.anyResource(p)
	}
	r.leave()
	return resource
}

func (r *reader) anyResource(p *bcrpb.ContainedResource) fhir.Resource {
	if known := r.known(p); known != nil {
		return known
	}
	return r.other(p)
}

// resourceOf reads a resource of a known type. A nil message is an empty one.
func resourceOf[P, T any, R interface {
	*T
	fhir.Resource
}](r *reader, p *P, resource R, read func(*reader, *P, *T)) fhir.Resource {
	if p == nil {
		p = new(P)
	}
	read(r, p, resource)
	return resource
}

// other names a resource of a type that is not read. Such resources are few in
// an episode, so it may ask the descriptor.
func (r *reader) other(p *bcrpb.ContainedResource) fhir.Resource {
	m := p.ProtoReflect()
	field := m.WhichOneof(m.Descriptor().Oneofs().Get(0))
	if field == nil {
		r.report(fault.Structure, "", "found a resource without a type, expected a type of FHIR R4")
		return nil
	}
	o := &fhir.Other{TypeName: string(field.Message().Name())}
	if identified, ok := m.Get(field).Message().Interface().(interface{ GetId() *dpb.Id }); ok {
		o.ID = r.id("id", identified.GetId())
	}
	return o
}

// contained reads the resources inside another one, each of which is a packed
// ContainedResource.
func (r *reader) contained(ps []*anypb.Any) []fhir.Resource {
	if len(ps) == 0 {
		return nil
	}
	resources := r.contents.Take(len(ps))
	for i, p := range ps {
		if r.enter("contained", i) {
			resources[i] = r.unpack(p)
		}
		r.leave()
	}
	return resources
}

// unpack reads a packed ContainedResource.
func (r *reader) unpack(p *anypb.Any) fhir.Resource {
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
