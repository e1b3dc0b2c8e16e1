package fhirproto

import (
	"strings"

	"google.golang.org/protobuf/encoding/protowire"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// resource reads the resource of an entry, or nil if there is none.
func (r *reader) resource(name string, f *field) (resource fhir.Resource) {
	if f.count == 0 {
		return nil
	}
	if r.enter(name, single) {
		resource = r.anyResource(f.whole())
	}
	r.leave()
	return resource
}

// anyResource reads a ContainedResource, which has a field for each type of resource.
func (r *reader) anyResource(m message) fhir.Resource {
	f := r.oneof(m, resourceTypes.first, resourceTypes.last)
	if f.count == 0 {
		r.report(fault.Structure, "", "found a resource without a type, expected a type of FHIR R4")
		return nil
	}
	if known := r.known(f.number, f.whole()); known != nil {
		return known
	}
	const id protowire.Number = 1 // of every resource
	identified := r.oneof(f.whole(), id, id)
	return &fhir.Other{TypeName: resourceTypes.name(f.number), ID: r.id("id", &identified)}
}

// resourceOf reads a resource of a known type.
func resourceOf[T any, R interface {
	*T
	fhir.Resource
}](r *reader, m message, resource R, read func(*reader, message, *T)) fhir.Resource {
	read(r, m, resource)
	return resource
}

// contained reads the resources inside another one, each of which is a packed
// ContainedResource.
func (r *reader) contained(f *field) []fhir.Resource {
	if f.count == 0 || !takes[fhir.Resource](r, "contained", f.count) {
		return nil
	}
	resources := r.contents.Take(f.count)
	i := 0
	for m := range f.each() {
		if r.enter("contained", i) {
			resources[i] = r.unpack(m)
		}
		r.leave()
		i++
	}
	return resources
}

// unpack reads a packed ContainedResource. What is packed is bytes to the messages
// around it: if it is no message, they still are.
func (r *reader) unpack(m message) fhir.Resource {
	typeURL := r.charactersOf(m, packedType)
	if r.malformed != nil {
		return nil
	}
	if typeURL[strings.LastIndexByte(typeURL, '/')+1:] != containedName {
		r.report(fault.Structure, "", "found another message; expected a "+containedName)
		return nil
	}
	before := len(r.issues)
	packed := r.oneof(m, packedValue, packedValue)
	resource := r.anyResource(packed.latest)
	if r.malformed != nil {
		r.malformed, r.issues = nil, r.issues[:before]
		r.report(fault.Structure, "", "found a message that cannot be read; expected a "+containedName)
		return nil
	}
	return resource
}
