package fhir

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/lexical"
	apb "github.com/google/fhir/go/proto/google/fhir/proto/annotations_go_proto"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// The protocol buffers hold a reference in one of three ways: Patient/123 and
// Patient/123/_history/4 as an id in a field of the resource type, #p1 as a
// fragment, and anything else as a uri. The resource types of a shoulder
// episode have a case of their own below; the others, which are rare, go by
// the descriptor.

const (
	fragmentMark = "#"
	historyPart  = "_history"
)

// The fields that hold the id of a resource, by the resource's type, and back.
var referenceFields, referenceTypes = fieldsByType()

func fieldsByType() (map[string]protoreflect.FieldNumber, map[protoreflect.FieldNumber]string) {
	fields, types := map[string]protoreflect.FieldNumber{}, map[protoreflect.FieldNumber]string{}
	all := (*dpb.Reference)(nil).ProtoReflect().Descriptor().Oneofs().ByName("reference").Fields()
	for i := range all.Len() {
		field := all.Get(i)
		name, _ := proto.GetExtension(field.Options(), apb.E_ReferencedFhirType).(string)
		if name != "" {
			fields[name], types[field.Number()] = field.Number(), name
		}
	}
	return fields, types
}

func (r *reader) reference(p *dpb.Reference) Reference {
	return Reference{
		Reference:  r.referenceText(p),
		TypeName:   r.uri("type", p.Type),
		Identifier: optional(r, &r.identifiers, "identifier", p.Identifier, (*reader).identifier),
		Display:    r.str("display", p.Display),
	}
}

// referenceText is the text of what a reference points to.
func (r *reader) referenceText(p *dpb.Reference) string {
	switch c := p.Reference.(type) {
	case nil:
		return ""
	case *dpb.Reference_Uri:
		return r.str("reference", c.Uri)
	case *dpb.Reference_Fragment:
		return r.fragment(c.Fragment.GetValue())
	case *dpb.Reference_PatientId:
		return r.patientID(c.PatientId)
	case *dpb.Reference_EncounterId:
		return r.resourceID("Encounter", c.EncounterId)
	case *dpb.Reference_PractitionerId:
		return r.resourceID("Practitioner", c.PractitionerId)
	case *dpb.Reference_PractitionerRoleId:
		return r.resourceID("PractitionerRole", c.PractitionerRoleId)
	case *dpb.Reference_OrganizationId:
		return r.resourceID("Organization", c.OrganizationId)
	case *dpb.Reference_DeviceId:
		return r.resourceID("Device", c.DeviceId)
	case *dpb.Reference_ObservationId:
		return r.resourceID("Observation", c.ObservationId)
	case *dpb.Reference_ConditionId:
		return r.resourceID("Condition", c.ConditionId)
	case *dpb.Reference_GoalId:
		return r.resourceID("Goal", c.GoalId)
	}
	m := p.ProtoReflect()
	field := m.WhichOneof(m.Descriptor().Oneofs().Get(0))
	id, _ := m.Get(field).Message().Interface().(*dpb.ReferenceId)
	return r.resourceID(referenceTypes[field.Number()], id)
}

// fragment is the text of a reference to a resource inside the same one; the
// empty fragment is the resource that holds the others.
func (r *reader) fragment(id string) string {
	if !lexical.IsText(id) {
		r.bad(fault.BadValue, "reference", "expected "+lexical.ExpectedText, "found "+lexical.Quote(id))
	}
	return fragmentMark + id
}

// patientID is resourceID for a Patient. Nearly every resource of a Bundle
// refers to the same one, so its text is kept.
func (r *reader) patientID(id *dpb.ReferenceId) string {
	if id.GetHistory() != nil {
		return r.resourceID("Patient", id)
	}
	if value := id.GetValue(); value == "" || value != r.referred.id {
		r.referred.id, r.referred.text = value, r.resourceID("Patient", id)
	}
	return r.referred.text
}

// resourceID is the text of a reference to a resource by its type and id.
func (r *reader) resourceID(typeName string, id *dpb.ReferenceId) string {
	if id.GetValue() == "" {
		r.report(fault.BadValue, "reference", "found a reference without an id; expected one such as "+typeName+"/1")
		return ""
	}
	version := id.History.GetValue()
	if !lexical.IsText(id.Value) || !lexical.IsText(version) {
		r.bad(fault.BadValue, "reference", "expected "+lexical.ExpectedText, "found "+lexical.Quote(id.Value))
	}
	if version != "" {
		return typeName + "/" + id.Value + "/" + historyPart + "/" + version
	}
	return typeName + "/" + id.Value
}

func (r *reader) referenceOf(name string, p *dpb.Reference) *Reference {
	return optional(r, &r.references, name, p, (*reader).reference)
}

func (r *reader) referenceList(name string, ps []*dpb.Reference) []Reference {
	return repeated(r, &r.references, name, ps, (*reader).reference)
}

func isFilled(r Reference) bool { return !r.IsEmpty() }
