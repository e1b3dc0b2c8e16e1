package fhir

import (
	"google.golang.org/protobuf/encoding/protowire"

	"evenreach.example/internal/fault"
)

// AppendProto appends a Bundle as the bytes of a google.fhir.r4.core.Bundle
// that says what the Bundle's JSON says: what Encode leaves out is left out
// here. Of a time, what lies below a microsecond is dropped. The bytes are those
// that proto.Marshal makes of the same message, and no message is made on the
// way, because an answer has thousands.
//
// The error is always *fault.Errors of kind Internal, because what is written
// was built here: it lists codes outside their value set, texts that are no
// decimal, no time or no UTF-8, and resources and values of types that are not
// written. With an error comes dst, to be used again.
func AppendProto(dst []byte, b *Bundle) ([]byte, error) {
	return write(dst, "Bundle", b, (*writer).bundle)
}

// AppendOutcomeProto appends an OperationOutcome as AppendProto does a Bundle.
func AppendOutcomeProto(dst []byte, o *OperationOutcome) ([]byte, error) {
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

func (w *writer) bundle(b *Bundle) {
	w.text(1, "id", b.ID)
	child(w, 2, "meta", b.Meta, (*writer).meta)
	writeCode(w, 6, "type", b.BundleType, bundleTypes)
	w.instant(7, "timestamp", b.Timestamp)
	children(w, 10, "entry", b.Entry, (*writer).entry)
}

func (w *writer) entry(e *Entry) {
	w.text(5, "fullUrl", e.FullURL)
	if e.Resource != nil {
		child(w, 6, "resource", &e.Resource, (*writer).resource)
	}
	child(w, 8, "request", e.Request, (*writer).request)
}

func (w *writer) request(q *Request) {
	writeCode(w, 4, "method", q.Method, httpVerbs)
	w.text(5, "url", q.URL)
	w.text(9, "ifNoneExist", q.IfNoneExist)
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
