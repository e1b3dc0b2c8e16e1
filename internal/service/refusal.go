package service

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	oopb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/protoadapt"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
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
	detailed, err := plain.WithDetails(protoadapt.MessageV1Of(outcome))
	if err != nil {
		return plain
	}
	return detailed
}

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
func fitting(issues []fault.Issue) (*oopb.OperationOutcome, error) {
	outcome, err := outcomeMessage(issues)
	if err != nil || proto.Size(outcome) <= maxDetail {
		return outcome, err
	}
	issues = slices.Clone(issues)
	slices.SortStableFunc(issues, func(a, b fault.Issue) int { return cmp.Compare(b.Severity, a.Severity) })
	if outcome, err = outcomeMessage(issues); err != nil {
		return nil, err
	}
	size, kept := 0, 0
	for kept < len(outcome.Issue) {
		size += proto.Size(outcome.Issue[kept]) + 4
		if size > maxDetail-256 {
			break
		}
		kept++
	}
	rest := fault.Issue{
		Severity: fault.Information,
		Kind:     fault.TooLong,
		Detail:   fmt.Sprintf("%d more issues do not fit into the status of a call; AssessJSON and AssessStream list them all", len(issues)-kept),
	}
	last, err := outcomeMessage([]fault.Issue{rest})
	if err != nil {
		return nil, err
	}
	outcome.Issue = append(outcome.Issue[:kept], last.Issue...)
	return outcome, nil
}

func outcomeMessage(issues []fault.Issue) (*oopb.OperationOutcome, error) {
	return fhir.OutcomeToProto(record.Outcome(issues))
}
