package service

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/record"
)

// maxBatch bounds the requests of a batch.
//
// Source: ours: what a deadline of a minute has time for many times over.
const maxBatch = 100

// batchEntry is one request of a batch.
type batchEntry struct {
	FullURL  string         `json:"fullUrl"`
	Resource jsontext.Value `json:"resource"`
	Request  *struct {
		Method string `json:"method"`
		URL    string `json:"url"`
	} `json:"request"`
}

// batchAnswer is the answer to one.
type batchAnswer struct {
	Resource jsontext.Value `json:"resource,omitzero"`
	Response batchResponse  `json:"response"`
}

type batchResponse struct {
	Status  string         `json:"status"`
	Outcome jsontext.Value `json:"outcome,omitzero"`
}

// batch answers each request of a batch on its own: reads of what is published, and operations.
//
// Source: FHIR R4 4.0.1, RESTful API, batch and transaction.
func (s *Server) batch(ctx context.Context, call operationCall) ([]byte, error) {
	entries, err := readBatch(call.body)
	if err != nil {
		return nil, err
	}
	answers := make([]batchAnswer, len(entries))
	for i := range entries {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		answers[i] = s.answerEntry(ctx, call.base, &entries[i], i)
	}
	return json.Marshal(map[string]any{"resourceType": "Bundle", "type": "batch-response", "entry": answers}, json.Deterministic(true))
}

func readBatch(body []byte) ([]batchEntry, error) {
	var b struct {
		Type   string       `json:"resourceType"`
		Bundle string       `json:"type"`
		Entry  []batchEntry `json:"entry"`
	}
	body = []byte(strings.TrimPrefix(string(body), byteOrderMark))
	// What the JSON is refused for is said as everywhere; the answer itself is not needed here.
	if err := json.Unmarshal(body, &b); err != nil {
		if _, err := Decode(body); err != nil {
			return nil, err
		}
		return nil, fault.Refuse(fault.Structure, "Bundle", "not the JSON of a Bundle")
	}
	switch {
	case b.Type != "Bundle" || b.Bundle != "batch":
		return nil, fault.Refuse(fault.WrongResource, "Bundle.type", "expected a Bundle of the type batch: nothing is stored here, so there are no transactions")
	case len(b.Entry) == 0:
		return nil, fault.Refuse(fault.RequiredMissing, "Bundle.entry", "expected requests")
	case len(b.Entry) > maxBatch:
		return nil, fault.Refuse(fault.TooLong, "Bundle.entry", fmt.Sprintf("the batch is over the limit; expected at most %d requests", maxBatch))
	}
	return b.Entry, nil
}

// answerEntry answers one request, which has a line of the log of its own.
func (s *Server) answerEntry(ctx context.Context, base string, e *batchEntry, i int) batchAnswer {
	parent := ops.CallFrom(ctx)
	ctx, call := s.watch.Begin(context.WithValue(ctx, replyKey{}, nil), ops.Batch, parent.ID, unmatched)
	call.Client, call.Tenant, call.MayStore, call.Peer = parent.Client, parent.Tenant, parent.MayStore, parent.Peer
	answer, err := s.guardedEntry(ctx, base, e, i)
	status := http.StatusOK
	if err != nil {
		refused := s.refuse(ctx, err)
		status = edge[refused.Kind()].http
		answer.Response.Outcome = fhirjson.Encode(record.Outcome(diagnosed(refused.Issues)))
	}
	answer.Response.Status = strconv.Itoa(status) + " " + http.StatusText(status)
	s.watch.EndBatch(call, status)
	return answer
}

func (s *Server) guardedEntry(ctx context.Context, base string, e *batchEntry, i int) (answer batchAnswer, err error) {
	defer s.recover(ctx, &err)
	place := fmt.Sprintf("Bundle.entry[%d].request", i)
	if e.Request == nil {
		return answer, fault.Refuse(fault.RequiredMissing, place, "expected a request")
	}
	u, err := url.Parse(strings.TrimPrefix(e.Request.URL, base+"/"))
	if err != nil || u.IsAbs() || u.Host != "" {
		return answer, fault.Refuse(fault.BadParameter, place+".url", "expected an address below the base")
	}
	path := fhirBase + "/" + strings.TrimPrefix(u.Path, "/")
	if e.Request.Method == http.MethodGet {
		if resource, ok := s.publication(ctx, path); ok && u.RawQuery == "" {
			ops.CallFrom(ctx).Aside(fhirBase + "/{type}/{id}")
			answer.Resource = resource
			return answer, nil
		}
	}
	o, ok := s.batched(ctx, path)
	if !ok {
		return answer, fault.Refuse(fault.UnknownPath, place+".url", "there is nothing at this address; expected what is published, by type and id, or an operation")
	}
	ops.CallFrom(ctx).Operation = o.pattern
	if !slices.Contains(o.methods, e.Request.Method) {
		return answer, fault.Refuse(fault.WrongMethod, place+".method", "found another method; expected "+strings.Join(o.methods, " or "))
	}
	values := u.Query()
	if err := fault.New(unknownNames(values, o.address...)); err != nil {
		return answer, err
	}
	answer.Resource, err = o.answer(ctx, operationCall{e.Resource, addressParameters(values), base})
	return answer, err
}

// batched is the operation at an address, the assessment included and without batches themselves.
func (s *Server) batched(ctx context.Context, path string) (operation, bool) {
	if path == fhirBase+"/$assess-shoulder" {
		return operation{path, []string{http.MethodPost}, addressNames, s.assessSent}, true
	}
	if path == fhirBase || path == fhirBase+"/" {
		return operation{}, false
	}
	return s.operationAt(ctx, path)
}

// assessSent assesses what is sent, as AssessJSON does.
func (s *Server) assessSent(ctx context.Context, call operationCall) ([]byte, error) {
	q, err := Decode(call.body)
	if err != nil {
		return nil, err
	}
	answer, err := s.compute(ctx, addAddress(withAddress(ctx, call.parameters), q))
	if err != nil {
		return nil, err
	}
	return encodeStage(ctx, answer.Resource()), nil
}

// publication is what is published at an address of a type and an id.
func (s *Server) publication(ctx context.Context, path string) ([]byte, bool) {
	typeName, id, _ := strings.Cut(strings.TrimPrefix(path, fhirBase+"/"), "/")
	resource, ok := s.libraryOf(ctx).Lookup(typeName, id)
	return resource.JSON, ok
}
