package service

import (
	"context"
	"errors"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhirclient"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/queue"
	"evenreach.example/internal/record"
)

// Record says how the configured record is used.
type Record struct {
	Client *fhirclient.Client
	// Queue holds the patients of whom notifications come; nil to take none.
	Queue *queue.Queue
	// Senders says who may notify; nil for everybody.
	Senders Senders
}

// Senders identify who sends a notification, from the values of the header Authorization. The error is a refusal.
type Senders interface {
	Admit(authorization []string) error
}

// recordDoor is the configured record, and what was asked of it.
type recordDoor struct {
	Record
	asking gate // patients who are asked for at a time: bounds memory, and spares the record

	mu    sync.Mutex
	since time.Time // until when it is known what changed, for notifications that name nothing
}

// atATime is how many patients the record is asked for at a time.
//
// Source: ours: four of the largest, of 8 MiB each, stay within the memory of the base in deploy/kubernetes.
const atATime = 4

// lookBack is how far before the start of the process a notification that names nothing may reach.
//
// Source: ours: longer than a restart takes.
const lookBack = 10 * time.Minute

// ServeRecord makes the Server ask the configured record. It is to be called before Handler.
func (s *Server) ServeRecord(r Record) {
	r.Client.Observe = s.watch.AskedRecord
	s.record = &recordDoor{Record: r, asking: make(gate, atATime), since: time.Now().Add(-lookBack)}
}

// hasRecord reports whether the tenant of a request may ask the configured record, which is one tenant's.
func (s *Server) hasRecord(ctx context.Context) bool {
	return s.record != nil && s.owns(ctx, ownerOfRecord)
}

// patientPath is the address of an operation on a patient of the configured record.
var patientPath = regexp.MustCompile(`^` + fhirBase + `/Patient/([^/]+)/(\$[a-z-]+)$`)

// patientOperation is the operation on a patient at an address.
func (s *Server) patientOperation(ctx context.Context, path string) (operation, bool) {
	m := patientPath.FindStringSubmatch(path)
	if !s.hasRecord(ctx) || m == nil {
		return operation{}, false
	}
	pattern, patient := fhirBase+"/Patient/{id}/"+m[2], m[1]
	switch m[2] {
	case "$assess-shoulder":
		return operation{pattern, []string{http.MethodGet, http.MethodPost}, addressNames, func(ctx context.Context, call operationCall) ([]byte, error) {
			q, err := withoutBundle(call)
			if err != nil {
				return nil, err
			}
			return s.assessPatient(ctx, patient, q)
		}}, true
	case "$store-assessment":
		return operation{pattern, []string{http.MethodPost}, addressNames, func(ctx context.Context, call operationCall) ([]byte, error) {
			if !ops.CallFrom(ctx).MayStore {
				return nil, s.deny(ctx, auth.RefuseStoring())
			}
			q, err := withoutBundle(call)
			if err != nil {
				return nil, err
			}
			return s.storePatient(ctx, patient, q)
		}}, true
	}
	return operation{}, false
}

// assessPatient answers about a patient of the record, and stores nothing.
func (s *Server) assessPatient(ctx context.Context, patient string, q Request) ([]byte, error) {
	if err := s.capacity.wait(ctx, s.record.asking); err != nil {
		return nil, err
	}
	defer s.record.asking.leave()
	q, err := s.fromRecord(ctx, patient, q)
	if err != nil {
		return nil, err
	}
	answer, err := s.compute(ctx, q)
	if err != nil {
		return nil, err
	}
	return encodeStage(ctx, answer.Resource()), nil
}

// storePatient has the answer about a patient stored, and returns what was posted.
func (s *Server) storePatient(ctx context.Context, patient string, q Request) ([]byte, error) {
	if q.Output == record.Collection || q.Output == record.Check {
		return nil, fault.Refuse(fault.BadParameter, "", "output: expected transaction or living-transaction, because the answer is stored")
	}
	if err := s.capacity.wait(ctx, s.record.asking); err != nil {
		return nil, err
	}
	defer s.record.asking.leave()
	answer, err := s.assessAndStore(ctx, patient, q, s.compute)
	if err != nil {
		return nil, err
	}
	return encodeStage(ctx, answer.Bundle), nil
}

// attemptsToStore is how often an answer is stored: anew after what was read has changed, and then once more without
// touching what the record has.
const attemptsToStore = 3

// assessAndStore assesses what the record has of a patient and stores the answer. If the record was changed between
// the two, it is read again, once; after that the answer is stored beside what is there, as a proposal that says what
// it replaces.
func (s *Server) assessAndStore(ctx context.Context, patient string, q Request, run func(context.Context, Request) (*Answer, error)) (*Answer, error) {
	for attempt := 1; ; attempt++ {
		fetched, err := s.fromRecord(ctx, patient, q)
		if err != nil {
			return nil, err
		}
		if attempt == attemptsToStore {
			forgetVersions(fetched.Bundle)
		}
		answer, err := run(ctx, fetched)
		if err != nil {
			return nil, err
		}
		ops.CallFrom(ctx).Enter(ops.Store)
		// What was begun is finished, whether or not the caller still waits.
		err = s.record.Client.Store(context.WithoutCancel(ctx), fhirjson.Encode(answer.Bundle))
		ops.CallFrom(ctx).Leave()
		if err == nil {
			return answer, nil
		}
		if !errors.Is(err, fhirclient.ErrConflict) || attempt == attemptsToStore {
			return nil, recordRefusal(err)
		}
	}
}

// fromRecord makes a request of what the record has of a patient.
func (s *Server) fromRecord(ctx context.Context, patient string, q Request) (Request, error) {
	call := ops.CallFrom(ctx)
	call.Enter(ops.Fetch)
	defer call.Leave()
	bundle, err := s.record.Client.Patient(ctx, patient, s.searches(ctx))
	if err != nil {
		return Request{}, recordRefusal(err)
	}
	q.Bundle, q.Root = bundle, "Bundle"
	q.Place = func(path string) string { return placeInRecord(bundle, s.record.Client.Base(), path) }
	return q, nil
}

// searches are what the record is asked for of a patient.
func (s *Server) searches(ctx context.Context) []fhirclient.Search {
	p := s.pipelineOf(ctx)
	return fhirclient.Searches(p.measurementCodes(), p.Codes.RepairCodes())
}

// measurementCodes are the codes of the Observations that are read, those of the outcome measures included.
func (p *Pipeline) measurementCodes() []fhir.Coding {
	all := p.Codes.MeasurementCodes()
	for _, protocol := range p.Protocols {
		for _, measure := range protocol.OutcomeMeasures {
			for _, c := range measure.Codes {
				all = append(all, fhir.Coding{System: c.System, Code: c.Code})
			}
		}
	}
	return all
}

// forgetVersions takes the versions from the results of earlier answers, so that none is updated.
func forgetVersions(b *fhir.Bundle) {
	for i := range b.Entry {
		page, ok := b.Entry[i].Resource.(*fhir.Bundle)
		if !ok {
			continue
		}
		for k := range page.Entry {
			common := fhir.CommonOf(page.Entry[k].Resource)
			if common == nil || common.Meta == nil || !isResult(common) {
				continue
			}
			meta := *common.Meta // values may be shared
			meta.VersionID = ""
			common.Meta = &meta
		}
	}
}

// isResult reports whether a resource carries an identifier of ours.
func isResult(c *fhir.Common) bool {
	for i := range c.Identifier {
		if c.Identifier[i].System == fhir.SystemResult {
			return true
		}
	}
	return false
}

// recordRefusal is an error of the record as a caller may read it.
func recordRefusal(err error) error {
	switch {
	case errors.Is(err, fhirclient.ErrNotFound):
		return fault.Refuse(fault.PatientUnknown, "", "the configured record has no patient with this id")
	case errors.Is(err, fhirclient.ErrTooLarge):
		return fault.Refuse(fault.TooLong, "", "the configured record has more of this patient than is read; expected at most 8 MiB and 20,000 resources")
	case errors.Is(err, fhirclient.ErrForeign):
		return fault.Refuse(fault.RecordRefused, "", "the configured record names another server for its next page, which is not asked")
	case errors.Is(err, fhirclient.ErrRefused):
		return fault.Refuse(fault.RecordRefused, "", "the configured record does not take what it was asked or sent; its operator has to see why")
	case errors.Is(err, fhirclient.ErrConflict):
		return fault.Refuse(fault.RecordChanged, "", "the configured record was changed each time between reading and storing; repeat the request")
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	}
	return &fetchError{fault.Refuse(fault.Unavailable, "", "the configured record did not answer; repeat the request in a moment"), err}
}

// fetchError is a refusal that keeps why the record did not answer.
type fetchError struct {
	*fault.Errors
	cause error
}

// Unwrap gives the refusal and its cause.
func (e *fetchError) Unwrap() []error { return []error{e.Errors, e.cause} }

// entryInPage is a FHIRPath to a resource in a page of what the record has.
var entryInPage = regexp.MustCompile(`^Bundle\.entry\[(\d+)\]\.resource(?:\.entry\[(\d+)\]\.resource)?`)

// placeInRecord names a place by the address of the resource in the record, such as Observation/1.valueQuantity.
func placeInRecord(b *fhir.Bundle, base, path string) string {
	m := entryInPage.FindStringSubmatch(path)
	if m == nil {
		return path
	}
	i, _ := strconv.Atoi(m[1]) // digits; beyond the range below if there are too many
	if i >= len(b.Entry) {
		return path
	}
	page, ok := b.Entry[i].Resource.(*fhir.Bundle)
	if !ok {
		return path
	}
	if m[2] == "" {
		return strings.TrimPrefix(page.Link[0].URL, base+"/") + strings.TrimPrefix(path, m[0])
	}
	k, _ := strconv.Atoi(m[2])
	if k >= len(page.Entry) || page.Entry[k].FullURL == "" {
		return path
	}
	return strings.TrimPrefix(page.Entry[k].FullURL, base+"/") + strings.TrimPrefix(path, m[0])
}
