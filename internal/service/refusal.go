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

// asErrors says what an error is to a caller. What is no refusal and no end of
// a context is a defect of ours, of which a caller reads no more than that.
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

// A refusal is an error on its way to a caller. gRPC takes its status from it,
// HTTP its issues.
type refusal struct {
	*fault.Errors
	code   codes.Code
	status func() *status.Status
}

// refusalOf makes a refusal of an error, as the edge table has it.
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
	outcome, err := fitting(r.Issues)
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

// fitting is an OperationOutcome of the issues. If they do not fit into the
// details of a status, the most severe come first and the last one says so.
func fitting(issues []fault.Issue) ([]byte, error) {
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

// appendIssues appends issues to an OperationOutcome, of which they are all.
func appendIssues(outcome []byte, issues ...fault.Issue) ([]byte, error) {
	return fhirproto.AppendOutcome(outcome, record.Outcome(issues))
}
