package service

import (
	"context"
	"errors"
	"time"

	"evenreach.example/internal/audit"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/ops"
)

// audit writes an assessment into the audit trail, before anybody sees its answer. The error
// is that of the assessment, or a refusal because the trail, which must not lose anything,
// cannot be written.
func (s *Server) audit(ctx context.Context, answer *Answer, err error) error {
	if s.config.Trail == nil {
		return err
	}
	call := ops.CallFrom(ctx)
	event := audit.Event{
		At: time.Now(), RequestID: call.ID, Door: string(call.Door), Operation: call.Operation,
		Client: call.Client, Person: call.Person, Tenant: s.served(ctx).label,
	}
	if err != nil {
		event.Outcome, event.Reason = outcomeFor(err)
	} else {
		chosen := answer.Assessment.Protocol
		event.Outcome, event.Patient = audit.Success, answer.Patient
		event.Protocol, event.Digest = protocolName(chosen), chosen.Digest()
	}
	if !s.config.Trail.Write(event) && err == nil {
		return fault.Refuse(fault.Unavailable, "", "the audit trail cannot be written, without which nothing is answered here; repeat the request later")
	}
	return err
}

// outcomeFor says how an assessment failed, and why.
func outcomeFor(err error) (audit.Outcome, string) {
	if errors.Is(err, context.Canceled) {
		return audit.Minor, "canceled"
	}
	kind := asErrors(err).Kind()
	switch kind {
	case fault.Internal, fault.Unavailable, fault.Timeout:
		return audit.Serious, kind.String()
	}
	return audit.Minor, kind.String()
}
