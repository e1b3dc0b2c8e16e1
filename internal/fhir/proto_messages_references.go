package fhir

import (
	"strings"

	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// setReference makes p point to what the text of a reference says.
func (w *messageWriter) setReference(p *dpb.Reference, text string) {
	if text == "" {
		return
	}
	if fragment, ok := strings.CutPrefix(text, fragmentMark); ok {
		p.Reference = &dpb.Reference_Fragment{Fragment: &dpb.String{Value: fragment}}
		return
	}
	if typeName, rest, ok := strings.Cut(text, "/"); ok && w.setResourceID(p, typeName, rest) {
		return
	}
	p.Reference = &dpb.Reference_Uri{Uri: w.str(text)}
}

// setResourceID makes p point to a resource by its type and what follows it: its
// id, and a version if there is one. It reports false for anything else.
func (w *messageWriter) setResourceID(p *dpb.Reference, typeName, rest string) bool {
	id, version, _ := strings.Cut(rest, "/"+historyPart+"/")
	if strings.Contains(id, "/") || strings.Contains(version, "/") {
		return false
	}
	switch typeName {
	case "Patient":
		p.Reference = &dpb.Reference_PatientId{PatientId: w.resourceID(id, version)}
	case "Encounter":
		p.Reference = &dpb.Reference_EncounterId{EncounterId: w.resourceID(id, version)}
	case "Observation":
		p.Reference = &dpb.Reference_ObservationId{ObservationId: w.resourceID(id, version)}
	case "Condition":
		p.Reference = &dpb.Reference_ConditionId{ConditionId: w.resourceID(id, version)}
	default:
		number, known := referenceFields[typeName]
		if !known {
			return false
		}
		field := p.ProtoReflect().Descriptor().Fields().ByNumber(number)
		p.ProtoReflect().Set(field, protoreflect.ValueOfMessage(w.resourceID(id, version).ProtoReflect()))
	}
	return true
}

func (w *messageWriter) resourceID(id, version string) *dpb.ReferenceId {
	p := w.made.ids.One()
	p.Value = id
	if version != "" {
		p.History = &dpb.Id{Value: version}
	}
	return p
}
