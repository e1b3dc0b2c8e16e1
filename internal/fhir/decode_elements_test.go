package fhir

import (
	"slices"
	"strings"
	"testing"

	apb "github.com/google/fhir/go/proto/google/fhir/proto/annotations_go_proto"
	bpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	ppb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/parameters_go_proto"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// TestElementsAreThoseOfR4 compares the table with the messages of google/fhir,
// which were generated from the same definitions by others.
func TestElementsAreThoseOfR4(t *testing.T) {
	messages := r4Messages()
	for typeName, listed := range elements {
		message, ok := messages[typeName]
		if !ok {
			t.Errorf("google/fhir has no %s", typeName)
			continue
		}
		want := r4Elements(message)
		switch typeName {
		case "Reference":
			// Its message spreads reference over one field a resource type.
			want = []string{"id", "extension", "_reference", "_type", "identifier", "_display"}
		case "Extension":
			// Its url is an attribute in XML and has no extensions, and its value
			// may be a Meta: FHIR R4, Extension, and open type element.
			want = append(slices.DeleteFunc(want, func(name string) bool { return name == "_url" }), "url", "valueMeta")
		}
		got := slices.Sorted(slices.Values(listed))
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("elements[%q] = %q, want %q", typeName, got, want)
		}
	}
}

func TestResourceTypesAreThoseOfR4(t *testing.T) {
	var want []string
	fields := (&bpb.ContainedResource{}).ProtoReflect().Descriptor().Fields()
	for i := range fields.Len() {
		want = append(want, string(fields.Get(i).Message().Name()))
	}
	slices.Sort(want)
	if !slices.Equal(resourceTypes, want) {
		t.Errorf("resourceTypes = %q, want %q", resourceTypes, want)
	}
}

// r4Messages finds every message that a Bundle or Parameters can hold, by the
// FHIR name of its type.
func r4Messages() map[string]protoreflect.MessageDescriptor {
	found := map[string]protoreflect.MessageDescriptor{}
	var visit func(protoreflect.MessageDescriptor)
	visit = func(m protoreflect.MessageDescriptor) {
		name := fhirName(m)
		if _, seen := found[name]; seen {
			return
		}
		found[name] = m
		for i := range m.Fields().Len() {
			if of := m.Fields().Get(i).Message(); of != nil {
				visit(of)
			}
		}
	}
	visit((&bpb.Bundle{}).ProtoReflect().Descriptor())
	visit((&ppb.Parameters{}).ProtoReflect().Descriptor())
	return found
}

// fhirName is the path of an element or the name of a type, such as
// Bundle.entry.request for the message Bundle.Entry.Request.
func fhirName(m protoreflect.MessageDescriptor) string {
	outer, ok := m.Parent().(protoreflect.MessageDescriptor)
	if !ok {
		return string(m.Name())
	}
	name := string(m.Name())
	return fhirName(outer) + "." + strings.ToLower(name[:1]) + name[1:]
}

// r4Elements lists the elements of a message in the form of the table.
func r4Elements(m protoreflect.MessageDescriptor) []string {
	var names []string
	for i := range m.Fields().Len() {
		f := m.Fields().Get(i)
		if choices := f.Message().Oneofs(); choices.Len() == 1 && string(choices.Get(0).Name()) == "choice" {
			for j := range f.Message().Fields().Len() {
				c := f.Message().Fields().Get(j)
				suffix := c.JSONName()
				names = append(names, marked(f.JSONName()+strings.ToUpper(suffix[:1])+suffix[1:], c.Message()))
			}
			continue
		}
		names = append(names, marked(f.JSONName(), f.Message()))
	}
	return names
}

// marked puts an underscore before a primitive, but not before what can have no
// extensions: an id, and the url of an extension.
func marked(name string, m protoreflect.MessageDescriptor) string {
	kind := proto.GetExtension(m.Options(), apb.E_StructureDefinitionKind).(apb.StructureDefinitionKindValue)
	if kind != apb.StructureDefinitionKindValue_KIND_PRIMITIVE_TYPE || name == "id" {
		return name
	}
	return "_" + name
}

// TestEveryElementOfR4IsTaken tries each element alone: whatever else is wrong
// with it, its name is known.
func TestEveryElementOfR4IsTaken(t *testing.T) {
	tried := 0
	for typeName, listed := range elements {
		if !isResourceType(typeName) {
			continue
		}
		for _, element := range listed {
			for _, name := range []string{element, strings.TrimPrefix(element, "_")} {
				tried++
				_, err := Decode([]byte(`{"resourceType":"`+typeName+`","`+name+`":{"x":1}}`), Limits{})
				if err != nil && strings.Contains(err.Error(), "unknown-element at "+typeName+"."+name+":") {
					t.Errorf("%s.%s: %v", typeName, name, err)
				}
			}
		}
	}
	if tried == 0 {
		t.Fatal("no element was tried")
	}
}
