package service

import (
	"context"
	"net/http"
	"slices"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/ops"
)

// An operation is one of FHIR besides the assessment of what is sent.
type operation struct {
	pattern string // of its address, for log and metrics
	methods []string
	address []string // the parameters that may stand in its address
	// answer answers a call by a resource in JSON.
	answer func(context.Context, operationCall) ([]byte, error)
}

// An operationCall is what is sent to an operation.
type operationCall struct {
	body       []byte           // empty if there is none
	parameters []fhir.Parameter // those in the address
	base       string           // the FHIR base address that the caller uses
}

// OperationNames are the operations that an operator may turn off, as the configuration names them.
var OperationNames = []string{"process-message", "apply", "extract", "validate", "batch"}

// isOffered reports whether an operation is turned on.
func (s *Server) isOffered(name string) bool {
	return s.config.Operations == nil || slices.Contains(s.config.Operations, name)
}

// operationAt is the operation at an address.
func (s *Server) operationAt(ctx context.Context, path string) (operation, bool) {
	if o, ok := s.patientOperation(ctx, path); ok {
		return o, true
	}
	if o, ok := s.applyOperation(path); ok {
		return o, true
	}
	post := []string{http.MethodPost}
	switch {
	case path == fhirBase+"/$process-message" && s.isOffered("process-message"):
		return operation{path, post, nil, s.processMessage}, true
	case (path == fhirBase || path == fhirBase+"/") && s.isOffered("batch"):
		return operation{fhirBase, post, nil, s.batch}, true
	case path == fhirBase+"/QuestionnaireResponse/$extract" && s.isOffered("extract"):
		return operation{path, post, nil, s.extract}, true
	case path == fhirBase+"/Bundle/$validate" && s.isOffered("validate"):
		return operation{path, post, nil, s.validate}, true
	}
	return operation{}, false
}

// operations answers the operations whose addresses the gateway does not know. They have the same limits as the
// assessment.
func (s *Server) operations(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		o, known := s.operationAt(r.Context(), r.URL.Path)
		if !known {
			next.ServeHTTP(w, r)
			return
		}
		ops.CallFrom(r.Context()).Operation = o.pattern
		if !slices.Contains(o.methods, r.Method) {
			s.refuseMethod(w, r, o.methods...)
			return
		}
		if err := s.serveOperation(w, r, o); err != nil {
			s.writeRefusal(w, r, err)
		}
	})
}

// serveOperation answers a call, or says why not.
func (s *Server) serveOperation(w http.ResponseWriter, r *http.Request, o operation) error {
	wanted, values, err := negotiateNamed(r, o.address...)
	if err != nil {
		return err
	}
	out := replies.Get().(*reply)
	defer out.release()
	ctx := context.WithValue(context.WithValue(r.Context(), formatKey{}, wanted), replyKey{}, out)
	body, done, err := s.takeBody(ctx, w, r)
	if err != nil {
		return err
	}
	defer done()
	answer, err := o.answer(ctx, operationCall{body, addressParameters(values), s.base(r)})
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", contentType(wanted.mediaType))
	_, _ = w.Write(wanted.layout(answer)) // a caller that hung up needs no answer
	return nil
}

// compute answers a request when it is its turn.
func (s *Server) compute(ctx context.Context, q Request) (*Answer, error) {
	lane, err := s.capacity.enterProcessor(ctx, q.Size)
	if err != nil {
		return nil, err
	}
	defer lane.leave()
	return s.run(ctx, q)
}

// encodeStage writes a resource as JSON, as a stage of the call that traces show.
func encodeStage(ctx context.Context, resource fhir.Resource) []byte {
	call := ops.CallFrom(ctx)
	call.Enter(ops.Encode)
	defer call.Leave()
	return encode(ctx, resource)
}

// withoutBundle reads the parameters of an operation that takes no Bundle, in its body or its address.
func withoutBundle(call operationCall) (Request, error) {
	if len(call.body) == 0 {
		q := fromParameters(&fhir.Parameters{Parameter: call.parameters})
		q.Problems = slices.DeleteFunc(q.Problems, isBundleMissing)
		for i := range q.Problems {
			q.Problems[i].Path = "" // an address has no FHIRPath
		}
		return q, fault.New(q.Problems)
	}
	q, err := Decode(call.body)
	switch {
	case err != nil:
		return Request{}, err
	case q.Bundle != nil:
		return Request{}, fault.Refuse(fault.BadParameter, q.Root, "found a Bundle; expected none, because the configured record is asked")
	case len(call.parameters) > 0:
		return Request{}, fault.Refuse(fault.BadParameter, "", "found parameters of the operation in the address and Parameters in the body; expected all of them in Parameters")
	}
	q.Problems = slices.DeleteFunc(q.Problems, isBundleMissing)
	return q, fault.New(q.Problems)
}

func isBundleMissing(i fault.Issue) bool { return i.Kind == fault.RequiredMissing }
