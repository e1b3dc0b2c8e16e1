package fhirproto

import (
	"google.golang.org/protobuf/encoding/protowire"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// Append appends a Bundle as the bytes of a google.fhir.r4.core.Bundle
// that says what the Bundle's JSON says: what fhirjson.Encode leaves out is left out
// here. Of a time, what lies below a microsecond is dropped. The bytes are those
// that proto.Marshal makes of the same message, and no message is made on the
// way, because an answer has thousands.
//
// The error is always *fault.Errors of kind Internal, because what is written
// was built here: it lists codes outside their value set, texts that are no
// decimal, no time or no UTF-8, and resources and values of types that are not
// written. With an error comes dst, to be used again.
func Append(dst []byte, b *fhir.Bundle) ([]byte, error) {
	return write(dst, "Bundle", b, (*writer).bundle)
}

// AppendOutcome appends an OperationOutcome as Append does a Bundle.
func AppendOutcome(dst []byte, o *fhir.OperationOutcome) ([]byte, error) {
	return write(dst, "OperationOutcome", o, (*writer).operationOutcome)
}

func write[T any](dst []byte, name string, t *T, fields func(*writer, *T)) ([]byte, error) {
	if t == nil {
		return dst, fault.Refuse(fault.Internal, name, "found nothing to write")
	}
	w := &writer{out: dst}
	w.steps = make([]step, 0, usualDepth)
	w.enter(name, single)
	fields(w, t)
	if len(w.issues) > 0 {
		return dst, &fault.Errors{Issues: w.issues}
	}
	return w.out, nil
}

// usualDepth is as deep as the elements of an answer lie.
const usualDepth = 16

// writer appends protocol buffers. Its methods that take the number and the
// name of a field write it, or nothing for an absent element; the others are
// named after a message and write its fields, in the order of their numbers, as
// proto.Marshal does. The numbers are those of google/fhir, and a test compares
// them.
type writer struct {
	trail
	out []byte
}

// child writes an element that occurs at most once.
func child[T any](w *writer, number protowire.Number, name string, t *T, fields func(*writer, *T)) {
	if t != nil {
		element(w, number, step{name, single}, t, fields)
	}
}

// children writes an element that occurs any number of times.
func children[T any](w *writer, number protowire.Number, name string, ts []T, fields func(*writer, *T)) {
	for i := range ts {
		element(w, number, step{name, i}, &ts[i], fields)
	}
}

func element[T any](w *writer, number protowire.Number, at step, t *T, fields func(*writer, *T)) {
	m := w.open(number)
	if w.enter(at.name, at.index) {
		fields(w, t)
	}
	w.leave()
	w.closeUnlessEmpty(m)
}

// choice writes an element whose message holds one of several types, such as
// Observation.value[x]. The alternatives report false for a value that is of
// none of them.
func choice[T any](w *writer, number protowire.Number, name string, t T, alternatives func(*writer, T) bool) {
	m := w.open(number)
	if !alternatives(w, t) {
		w.unwritable(name)
	}
	w.closeUnlessEmpty(m)
}

// unwritable notes content that the element's message has no place for.
func (w *writer) unwritable(name string) {
	w.report(fault.Internal, name, "found a value that cannot be written here; expected one of the element's types")
}

// atMostOne reports whether at most one of the fields of a choice element is set.
func atMostOne(set ...bool) bool {
	n := 0
	for _, isSet := range set {
		if isSet {
			n++
		}
	}
	return n <= 1
}

// unwritableResource notes a resource of a type that protocol buffers do not hold
// here.
func (w *writer) unwritableResource() {
	w.report(fault.Internal, "", "found a resource of a type that is not written")
}

// writeResource writes a resource, also an empty one, which has at least a type.
func writeResource[T any](w *writer, number protowire.Number, t *T, fields func(*writer, *T)) {
	if t == nil {
		w.report(fault.Internal, "", "found nothing to write")
		return
	}
	m := w.open(number)
	fields(w, t)
	w.close(m)
}

// resourceMember writes an element that is a resource.
func (w *writer) resourceMember(number protowire.Number, name string, r *fhir.Resource) {
	if *r != nil {
		child(w, number, name, r, (*writer).resource)
	}
}

// containedName is the message that holds a resource that lies inside another one.
const containedName = "google.fhir.r4.core.ContainedResource"

// The fields of a google.protobuf.Any, which holds such a message.
const (
	packedType  protowire.Number = 1
	packedValue protowire.Number = 2
)

// pack writes a resource that lies inside another one.
func (w *writer) pack(r *fhir.Resource) {
	w.characters(packedType, "", "type.googleapis.com/"+containedName)
	m := w.open(packedValue)
	w.resource(r)
	w.close(m)
}
