package fhir

import (
	"strings"

	"google.golang.org/protobuf/encoding/protowire"
)

func (w *writer) reference(r *Reference) {
	w.text(3, "type", r.TypeName)
	child(w, 155, "identifier", r.Identifier, (*writer).identifier)
	w.text(156, "display", r.Display)
	w.referred(r.Reference)
}

func (w *writer) referenceOf(number protowire.Number, name string, r *Reference) {
	child(w, number, name, r, (*writer).reference)
}

func (w *writer) referenceList(number protowire.Number, name string, rs []Reference) {
	children(w, number, name, rs, (*writer).reference)
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
