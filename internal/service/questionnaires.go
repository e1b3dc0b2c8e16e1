package service

import (
	"bytes"
	"context"
	"net/url"
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/questionnaire"
	"evenreach.example/internal/record"
	"evenreach.example/internal/shoulder"
)

// answerSystem is the system of the identifiers of Observations that responses come to.
const answerSystem = fhir.CanonicalBase + "/sid/answer"

// askedBy is the protocol whose questionnaire a response answers; nil for none.
func (p Protocols) askedBy(r *fhir.QuestionnaireResponse) *protocol.Protocol {
	for _, one := range p {
		if questionnaire.IsOf(r, one) {
			return one
		}
	}
	return nil
}

// withExtracted puts the Observations that the responses in a Bundle come to in their place. What is wrong with a response
// drops it, as a malformed entry is dropped.
func (p *Pipeline) withExtracted(q Request) Request {
	if q.Bundle == nil {
		return q
	}
	e := expansion{places: map[string]string{}}
	for i := range q.Bundle.Entry {
		if r, ok := q.Bundle.Entry[i].Resource.(*fhir.QuestionnaireResponse); ok {
			e.response(&q, i, r, p.Protocols.askedBy(r))
		}
	}
	if !e.copied && len(e.issues) == 0 {
		return q
	}
	before := q.Place
	q.Place = func(path string) string {
		for at, place := range e.places {
			if rest, ok := strings.CutPrefix(path, at); ok && (rest == "" || rest[0] == '.') {
				path = place
				break
			}
		}
		if before != nil {
			return before(path)
		}
		return path
	}
	q.Unmapped = append(q.Unmapped, e.issues...)
	return q
}

// expansion gathers what responses come to.
type expansion struct {
	copied bool
	places map[string]string // of the response, by the place of the Observation
	issues []fault.Issue
}

// response puts what one response comes to into the Bundle, of which it makes a copy first. One to another questionnaire
// stays as it is.
func (e *expansion) response(q *Request, i int, r *fhir.QuestionnaireResponse, of *protocol.Protocol) {
	if of == nil {
		return
	}
	root := q.Root + ".entry[" + strconv.Itoa(i) + "].resource"
	reading, err := questionnaire.Extract(r, of, root)
	if err != nil {
		e.drop(q, i, r, asErrors(err))
		return
	}
	e.issues = append(e.issues, reading.Issues...)
	if q.Involved == shoulder.SideUnknown {
		q.Involved = reading.Involved
	}
	if len(reading.Observations) == 0 {
		return
	}
	e.copyBundle(q)
	address := q.Bundle.Entry[i].FullURL
	for k := range reading.Observations {
		extracted, at := &reading.Observations[k], i
		if k > 0 {
			at = len(q.Bundle.Entry)
			q.Bundle.Entry = append(q.Bundle.Entry, fhir.Entry{})
		}
		q.Bundle.Entry[at] = entryOf(r, address, extracted)
		e.places[q.Root+".entry["+strconv.Itoa(at)+"].resource"] = extracted.Path
	}
}

// drop leaves out a response that does not count. One that is retracted, or not completed, is none; of any other nobody
// knows what was answered since, as of a malformed entry.
func (e *expansion) drop(q *Request, i int, r *fhir.QuestionnaireResponse, why *fault.Errors) {
	if why.Kind() != fault.StatusRetracted {
		e.copyBundle(q)
		q.Bundle.Entry[i].Resource = &fhir.Malformed{Read: r, Issues: why.Issues}
		return
	}
	for _, issue := range why.Issues {
		issue.Severity = fault.Warning
		e.issues = append(e.issues, issue)
	}
}

// copyBundle makes the copy of the Bundle that is changed, once.
func (e *expansion) copyBundle(q *Request) {
	if e.copied {
		return
	}
	whole := *q.Bundle
	whole.Entry = append([]fhir.Entry(nil), q.Bundle.Entry...)
	q.Bundle, e.copied = &whole, true
}

// entryOf is the entry of an extracted Observation, whose identifier is the same each time.
func entryOf(r *fhir.QuestionnaireResponse, address string, of *questionnaire.Extracted) fhir.Entry {
	subject := ""
	if r.Subject != nil {
		subject = r.Subject.Reference
	}
	own := address + "|" + r.ID
	if r.Identifier != nil {
		own = r.Identifier.System + "|" + r.Identifier.Value
	}
	id := fhir.UUIDOf("answer/", strings.Join([]string{own, subject, r.Authored, of.LinkID}, "\x00")).String()
	of.Observation.Identifier = []fhir.Identifier{{System: answerSystem, Value: id}}
	return fhir.Entry{FullURL: "urn:uuid:" + id, Resource: of.Observation}
}

// extract answers by a transaction that creates the Observations that a response comes to, once each, and says what of it
// was left out.
//
// Source: HL7 Structured Data Capture, operation extract of QuestionnaireResponse.
func (s *Server) extract(ctx context.Context, call operationCall) ([]byte, error) {
	r, root, err := readResponse(call.body)
	if err != nil {
		return nil, err
	}
	of := s.pipelineOf(ctx).Protocols.askedBy(r)
	if of == nil {
		return nil, fault.Refuse(fault.NotRead, root+".questionnaire", "expected the canonical address of a Questionnaire that is published here")
	}
	reading, err := questionnaire.Extract(r, of, root)
	if err != nil {
		return nil, err
	}
	bundle := &fhir.Bundle{BundleType: "transaction"}
	for i := range reading.Observations {
		entry := entryOf(r, "", &reading.Observations[i])
		id := reading.Observations[i].Observation.Identifier[0]
		entry.Request = &fhir.Request{Method: "POST", URL: "Observation", IfNoneExist: "identifier=" + id.System + "|" + url.QueryEscape(id.Value)}
		bundle.Entry = append(bundle.Entry, entry)
	}
	out := &fhir.Parameters{Parameter: []fhir.Parameter{{Name: "return", Resource: bundle}}}
	if len(reading.Issues) > 0 {
		out.Parameter = append(out.Parameter, fhir.Parameter{Name: "issues", Resource: record.Outcome(reading.Issues)})
	}
	return encodeStage(ctx, out), nil
}

// readResponse reads a QuestionnaireResponse, or Parameters with it, and says where it is.
func readResponse(body []byte) (*fhir.QuestionnaireResponse, string, error) {
	resource, err := fhirjson.DecodeInput(bytes.TrimPrefix(body, []byte(byteOrderMark)), fhir.DefaultLimits)
	if err != nil {
		return nil, "", err
	}
	switch r := resource.(type) {
	case *fhir.QuestionnaireResponse:
		return r, "QuestionnaireResponse", nil
	case *fhir.Parameters:
		for i := range r.Parameter {
			if response, ok := r.Parameter[i].Resource.(*fhir.QuestionnaireResponse); ok && r.Parameter[i].Name == "questionnaire-response" {
				return response, pathOf(i) + ".resource", nil
			}
		}
		return nil, "", fault.Refuse(fault.RequiredMissing, "Parameters.parameter", "expected a parameter questionnaire-response, with a QuestionnaireResponse")
	}
	return nil, "", fault.Refuse(fault.WrongResource, resource.Type(), "found another resource; expected a QuestionnaireResponse, or Parameters with it")
}
