package fhirproto

import (
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/lexical"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	"google.golang.org/protobuf/encoding/protowire"
)

// The protocol buffers hold a reference in one of three ways: Patient/123 and
// Patient/123/_history/4 as an id in a field of the resource type, #p1 as a
// fragment, and anything else as a uri.

const (
	fragmentMark = "#"
	historyPart  = "_history"
)

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
	}
	return r.resourceID(referred(p))
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

// referred writes what a reference points to, in one of the three ways. They
// are one choice, which proto.Marshal writes behind all other fields.
func (w *writer) referred(text string) {
	if fragment, ok := strings.CutPrefix(text, fragmentMark); ok {
		w.fragment(fragment)
		return
	}
	if typeName, rest, ok := strings.Cut(text, "/"); ok {
		id, version, _ := strings.Cut(rest, "/"+historyPart+"/")
		number, known := referenceFields[typeName]
		if known && !strings.Contains(id, "/") && !strings.Contains(version, "/") {
			w.resourceID(number, id, version)
			return
		}
	}
	w.text(4, "reference", text)
}

// fragment writes a reference to a resource inside the same one by its id; the
// empty id is that of the resource that holds the others.
func (w *writer) fragment(id string) {
	const fragment = 5
	m := w.open(fragment)
	if id != "" {
		w.characters(primitiveValue, "reference", id)
	}
	w.close(m)
}

// resourceID writes a reference to a resource by its id, and its version if
// there is one, into the field of that resource's type.
func (w *writer) resourceID(number protowire.Number, id, version string) {
	const value, history = 1, 2
	m := w.open(number)
	if id != "" {
		w.characters(value, "reference", id)
	}
	w.text(history, "reference", version)
	w.close(m)
}
