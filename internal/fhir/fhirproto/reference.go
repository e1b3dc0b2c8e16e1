package fhirproto

import (
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/lexical"
	"google.golang.org/protobuf/encoding/protowire"
)

// The protocol buffers hold a reference in one of three ways: Patient/123 and
// Patient/123/_history/4 as an id in a field of the resource type, #p1 as a
// fragment, and anything else as a uri.

const (
	fragmentMark = "#"
	historyPart  = "_history"
)

// The fields of a reference that hold no id of a resource.
const (
	referenceURI      protowire.Number = 4
	referenceFragment protowire.Number = 5
)

// The fields of an id in a reference.
const (
	referredID      protowire.Number = 1
	referredVersion protowire.Number = 2
)

// referenceFields are the fields that hold the id of a resource, by its type.
var referenceFields = func() map[string]protowire.Number {
	fields := map[string]protowire.Number{}
	for i, typeName := range referenceTypes.of {
		if typeName != "" {
			fields[typeName] = referenceTypes.first + protowire.Number(i)
		}
	}
	return fields
}()

// referenceText is the text of what a reference points to.
func (r *reader) referenceText(m message) string {
	f := r.oneof(m, referenceTypes.first, referenceTypes.last)
	if f.count == 0 {
		return ""
	}
	switch f.number {
	case referenceURI:
		return r.str("reference", &f)
	case referenceFragment:
		return r.fragment(r.characters(f.whole()))
	}
	return r.resourceID(referenceTypes.name(f.number), f.whole())
}

// fragment is the text of a reference to a resource inside the same one; the
// empty fragment is the resource that holds the others.
func (r *reader) fragment(id string) string {
	if !lexical.IsText(id) {
		r.bad(fault.BadValue, "reference", "expected "+lexical.ExpectedText, "found "+lexical.Quote(id))
	}
	return fragmentMark + id
}

// resourceID is the text of a reference to a resource by its type and id, and its
// version if there is one.
func (r *reader) resourceID(typeName string, m message) string {
	id, version := r.charactersOf(m, referredID), ""
	if history := r.oneof(m, referredVersion, referredVersion); history.count > 0 {
		version = r.characters(history.whole())
	}
	if id == "" {
		r.report(fault.BadValue, "reference", "found a reference without an id; expected one such as "+typeName+"/1")
		return ""
	}
	if !lexical.IsText(id) || !lexical.IsText(version) {
		r.bad(fault.BadValue, "reference", "expected "+lexical.ExpectedText, "found "+lexical.Quote(id))
	}
	if version != "" {
		return typeName + "/" + id + "/" + historyPart + "/" + version
	}
	return typeName + "/" + id
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
	w.text(referenceURI, "reference", text)
}

// fragment writes a reference to a resource inside the same one by its id; the
// empty id is that of the resource that holds the others.
func (w *writer) fragment(id string) {
	m := w.open(referenceFragment)
	if id != "" {
		w.characters(primitiveValue, "reference", id)
	}
	w.close(m)
}

// resourceID writes a reference to a resource by its id, and its version if
// there is one, into the field of that resource's type.
func (w *writer) resourceID(number protowire.Number, id, version string) {
	m := w.open(number)
	if id != "" {
		w.characters(referredID, "reference", id)
	}
	w.text(referredVersion, "reference", version)
	w.close(m)
}
