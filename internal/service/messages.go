package service

import (
	"bytes"
	"context"
	"errors"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/handon"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/oru"
	"evenreach.example/internal/report"
	"evenreach.example/internal/report/typeset"
)

// V2 says how messages of HL7 version 2 are answered.
type V2 struct {
	Options oru.Options
	// PDF asks for the report as PDF instead of text.
	PDF bool
	// Target is where answers are handed on to, before the message is acknowledged. Without one
	// the answer goes back to the sender.
	Target handon.Target
}

// messages is the interface for messages of HL7 version 2.
type messages struct {
	V2
	receipts *perTenant[*receipts]
}

// ServeV2 makes the Server answer messages of HL7 version 2. It is to be called before Handler.
func (s *Server) ServeV2(v V2) {
	s.messages = &messages{v, newPerTenant(func(string) *receipts { return newReceipts() })}
}

// message answers a message of results: with results, or, if there is a target, with the acknowledgement that
// its answer was handed on. An error comes with a reply, too.
func (s *Server) message(ctx context.Context, data []byte, q Request) ([]byte, error) {
	reply := hl7v2.Reply{At: s.pipelineOf(ctx).Now()}
	m, err := hl7v2.Parse(bytes.Clone(data)) // its text is a part of data, and receipts outlive that
	if err != nil {
		return reply.Acknowledgement(codeOf(err), asErrors(err).Issues), err
	}
	reply.To = m
	if err = oru.Check(m); err != nil {
		return reply.Acknowledgement(codeOf(err), asErrors(err).Issues), err
	}
	q.Size = len(data)
	answer := func() ([]byte, error) { return s.answerMessage(ctx, reply, q) }
	var text []byte
	if s.targetOf(ctx) == nil {
		text, err = answer()
	} else {
		text, err = s.messages.receipts.of(s.served(ctx).name).once(ctx, m, data, answer)
	}
	if err != nil && text == nil {
		text = reply.Acknowledgement(codeOf(err), asErrors(err).Issues)
	}
	return text, err
}

// targetOf is where answers to a request are handed on to; nil for nowhere. The target is one tenant's, and what
// others send must not come to it: they are answered with the results.
func (s *Server) targetOf(ctx context.Context) handon.Target {
	if !s.owns(ctx, ownerOfMessages) {
		return nil
	}
	return s.messages.Target
}

// codeOf is the code of the acknowledgement of a message that was refused.
//
// Source: HL7 version 2.9, section 2.9.2.2: AE for what is wrong with the message, AR for a message of
// a kind that is not processed and for what has nothing to do with it.
func codeOf(err error) hl7v2.Code {
	if mayPass(err) || refusalOf(err).Kind() == fault.WrongResource {
		return hl7v2.Rejected
	}
	return hl7v2.Failed
}

// answerMessage assesses a message, and hands the answer on if there is a target.
func (s *Server) answerMessage(ctx context.Context, reply hl7v2.Reply, q Request) ([]byte, error) {
	answer, results, err := s.assessMessage(ctx, reply, q)
	if err != nil {
		return nil, err
	}
	if s.targetOf(ctx) == nil {
		return results(), nil
	}
	if err := s.handOn(ctx, handon.Answer{
		Transaction: func() []byte { return fhirjson.Encode(answer.Bundle) },
		Results:     results,
	}); err != nil {
		return nil, err
	}
	return reply.Acknowledgement(hl7v2.Accepted, answer.Issues), nil
}

// assessMessage assesses a message when it is its turn.
func (s *Server) assessMessage(ctx context.Context, reply hl7v2.Reply, q Request) (*Answer, func() []byte, error) {
	lane, err := s.capacity.enterProcessor(ctx, q.Size)
	if err != nil {
		return nil, nil, err
	}
	defer lane.leave()
	call := ops.CallFrom(ctx)
	call.Enter(ops.Decode)
	options := s.messages.Options
	options.Codes = s.pipelineOf(ctx).Codes
	in, err := oru.Read(reply.To, options)
	if err != nil {
		return nil, nil, err
	}
	if len(in.Bundle.Entry) > fhir.DefaultLimits.Entries {
		return nil, nil, fault.Refuse(fault.TooLong, "", "the message is over the limit; expected at most 20,000 results")
	}
	q.Bundle, q.Root, q.Place, q.Unmapped = in.Bundle, "Bundle", in.Place, in.Issues
	answer, err := s.run(ctx, q)
	if err != nil {
		return nil, nil, err
	}
	call.Enter(ops.Encode)
	defer call.Leave()
	form, err := s.form(answer)
	if err != nil {
		return nil, nil, err
	}
	return answer, func() []byte { return oru.Results(reply, answer.Bundle, form, answer.Issues) }, nil
}

// form is the report as it goes into a message.
func (s *Server) form(a *Answer) (oru.Report, error) {
	w := a.Words
	if !s.messages.PDF {
		return oru.Text([]byte(report.Text(a.Assessment, a.Issues, w))), nil
	}
	pdf, err := report.FullPDF(a.Assessment, a.Issues, w, typeset.A4)
	return oru.PDF(pdf), err
}

// handOn hands an answer on, whether or not its sender still waits: what was begun is finished, so that the
// sender is answered alike when it asks again.
func (s *Server) handOn(ctx context.Context, a handon.Answer) error {
	target := s.messages.Target
	err := target.HandOn(context.WithoutCancel(ctx), a)
	switch {
	case err == nil:
		s.watch.HandedOn(target.Kind(), "ok")
		return nil
	case errors.Is(err, handon.ErrRefused):
		s.watch.HandedOn(target.Kind(), "refused")
		return fault.Refuse(fault.NotHandedOn, "", "the configured target refused the answer; its operator has to see why")
	}
	s.watch.HandedOn(target.Kind(), "failed")
	return fault.Refuse(fault.Unavailable, "", "the answer could not be handed on to the configured target; send the message again")
}
