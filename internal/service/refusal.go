package service

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/types/known/anypb"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/fhirproto"
	"evenreach.example/internal/record"
)

// asErrors is an error as a caller may read it. An error that is neither a refusal nor
// the end of a context is a defect of this service: the caller learns only that there
// was one.
func asErrors(err error) *fault.Errors {
	if refusal, ok := errors.AsType[*fault.Errors](err); ok && refusal.Kind() != fault.Internal {
		return refusal
	}
	if errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled) {
		return fault.Refuse(fault.Timeout, "", "the request ended before its answer was ready")
	}
	return fault.Refuse(fault.Internal, "", "a defect of the service; it has been logged under the request's id")
}

// errPanicked stands for a panic that was caught.
var errPanicked = errors.New("panic")

// A refusal is an error as it is sent to a caller: gRPC uses its status, HTTP its
// issues.
type refusal struct {
	*fault.Errors
	code   codes.Code
	status func() *status.Status
}

// refusalOf makes a refusal of an error, with the codes of the table edge.
func refusalOf(err error) *refusal {
	if already, ok := errors.AsType[*refusal](err); ok {
		return already
	}
	refused := asErrors(err)
	r := &refusal{Errors: refused, code: edge[refused.Kind()].grpc}
	if errors.Is(err, context.Canceled) {
		r.code = codes.Canceled
	}
	r.status = sync.OnceValue(r.buildStatus)
	return r
}

// Unwrap gives the issues.
func (r *refusal) Unwrap() error { return r.Errors }

// GRPCStatus is the status with an OperationOutcome among its details.
func (r *refusal) GRPCStatus() *status.Status { return r.status() }

func (r *refusal) buildStatus() *status.Status {
	plain := status.New(r.code, r.summary())
	outcome, err := outcomeDetail(r.Issues)
	if err != nil {
		return plain
	}
	detailed := plain.Proto()
	detailed.Details = []*anypb.Any{{TypeUrl: outcomeType, Value: outcome}}
	return status.FromProto(detailed)
}

// outcomeType is the type of the details of a status.
const outcomeType = "type.googleapis.com/google.fhir.r4.core.OperationOutcome"

// summary is the first issue of the deciding kind, without anything of the
// input.
func (r *refusal) summary() string {
	kind := r.Kind()
	text := kind.Display()
	i := slices.IndexFunc(r.Issues, func(i fault.Issue) bool { return i.Kind == kind && i.Detail != "" })
	if i >= 0 {
		text += ": " + r.Issues[i].Detail
	}
	if more := len(r.Issues) - 1; more > 0 {
		text += fmt.Sprintf(" (and %d more)", more)
	}
	return text
}

// maxDetail bounds the details of a status, which travel in a header: common
// clients take no more than 8 KiB of headers, and Base64 adds a third.
const maxDetail = 4 << 10

// outcomeDetail is an encoded OperationOutcome of the issues, of at most maxDetail
// bytes. If they do not all fit, it holds the most severe, and a last issue that says
// how many are missing.
func outcomeDetail(issues []fault.Issue) ([]byte, error) {
	outcome, err := appendIssues(nil, issues...)
	if err != nil || len(outcome) <= maxDetail {
		return outcome, err
	}
	issues = slices.Clone(issues)
	slices.SortStableFunc(issues, func(a, b fault.Issue) int { return cmp.Compare(b.Severity, a.Severity) })
	outcome = outcome[:0]
	for i := range issues {
		longer, err := appendIssues(outcome, issues[i])
		if err != nil {
			return nil, err
		}
		if len(longer) > maxDetail-256 {
			return appendIssues(outcome, fault.Issue{
				Severity: fault.Information,
				Kind:     fault.TooLong,
				Detail:   fmt.Sprintf("%d more issues do not fit into the status of a call; AssessJSON and AssessStream list them all", len(issues)-i),
			})
		}
		outcome = longer
	}
	return outcome, nil
}

// appendIssues appends issues to an encoded OperationOutcome, which may be empty.
func appendIssues(outcome []byte, issues ...fault.Issue) ([]byte, error) {
	return fhirproto.AppendOutcome(outcome, record.Outcome(issues))
}
