package fhir

import (
	"evenreach.example/internal/fault"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	oopb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
)

// ToProto converts a Bundle to protocol buffers, so that they say what the
// Bundle's JSON says. Strings and attached data are shared with b. Of a time,
// what lies below a microsecond is dropped.
//
// The error is always *fault.Errors of kind Internal, because what is written
// was built here: it lists codes outside their value set, texts that are no
// decimal or time, and resources and values of types that are not written.
func ToProto(b *Bundle) (*bcrpb.Bundle, error) {
	return writeMessage("Bundle", b, (*messageWriter).bundle)
}

// OutcomeToProto converts an OperationOutcome as ToProto does a Bundle.
func OutcomeToProto(o *OperationOutcome) (*oopb.OperationOutcome, error) {
	return writeMessage("OperationOutcome", o, (*messageWriter).operationOutcome)
}

func writeMessage[T, P any](name string, t *T, convert func(*messageWriter, *T) *P) (*P, error) {
	if t == nil {
		return nil, fault.Refuse(fault.Internal, name, "found nothing to write")
	}
	w := &messageWriter{}
	w.enter(name, single)
	p := convert(w, t)
	if len(w.issues) > 0 {
		return nil, &fault.Errors{Issues: w.issues}
	}
	return p, nil
}

// writer converts one resource and what it holds. Its methods are named after
// what they write; a zero value gives no message.
type messageWriter struct {
	trail
	made messages
}

func (w *messageWriter) bundle(b *Bundle) *bcrpb.Bundle {
	p := &bcrpb.Bundle{
		Id:        idOf(b.ID),
		Meta:      messageChild(w, "meta", b.Meta, (*messageWriter).meta),
		Timestamp: w.instant("timestamp", b.Timestamp),
		Entry:     messageChildren(w, "entry", b.Entry, (*messageWriter).entry),
	}
	if v, ok := messageCode(w, "type", b.BundleType, bundleTypes); ok {
		p.Type = &bcrpb.Bundle_TypeCode{Value: v}
	}
	return p
}

func (w *messageWriter) entry(e *Entry) *bcrpb.Bundle_Entry {
	p := &bcrpb.Bundle_Entry{
		FullUrl: w.uri(e.FullURL),
		Request: messageChild(w, "request", e.Request, (*messageWriter).request),
	}
	if e.Resource == nil {
		return p
	}
	if w.enter("resource", single) {
		p.Resource = w.resource(e.Resource)
	}
	w.leave()
	return p
}

func (w *messageWriter) request(q *Request) *bcrpb.Bundle_Entry_Request {
	p := &bcrpb.Bundle_Entry_Request{Url: w.uri(q.URL), IfNoneExist: w.str(q.IfNoneExist)}
	if v, ok := messageCode(w, "method", q.Method, httpVerbs); ok {
		p.Method = &bcrpb.Bundle_Entry_Request_MethodCode{Value: v}
	}
	return p
}

// child writes an element that occurs at most once.
func messageChild[T, P any](w *messageWriter, name string, t *T, convert func(*messageWriter, *T) *P) (p *P) {
	if t == nil {
		return nil
	}
	if w.enter(name, single) {
		p = convert(w, t)
	}
	w.leave()
	return p
}

// children writes an element that occurs any number of times.
func messageChildren[T, P any](w *messageWriter, name string, ts []T, convert func(*messageWriter, *T) *P) []*P {
	if len(ts) == 0 {
		return nil
	}
	ps := make([]*P, 0, len(ts))
	for i := range ts {
		if w.enter(name, i) {
			if p := convert(w, &ts[i]); p != nil {
				ps = append(ps, p)
			}
		}
		w.leave()
	}
	return ps
}
