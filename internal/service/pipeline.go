// Package service is the network interface of the program: one pipeline from request
// to answer, and the ways to reach it (gRPC, REST, streams), which comments call doors.
// It alone decides which gRPC code or HTTP status a refusal gets.
package service

import (
	"context"
	"errors"
	"time"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/audit"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/record"
	"evenreach.example/internal/wording"
)

// A Pipeline answers requests: intake, assessment, record. It keeps nothing
// between requests and may be used by many goroutines.
type Pipeline struct {
	Protocols Protocols
	// Codes are the site's own codes; nil for none.
	Codes *intake.CodeMap
	Words *wording.Catalogue
	// Version is that of the software, for the provenance of results.
	Version string
	// Now is the clock. It serves only to recognise measurements of the
	// future; no result depends on it otherwise.
	Now func() time.Time
}

// Run answers one request. Every door and the command line come through here.
// The error is *fault.Errors, with every problem that was found, or that of
// the context.
func (p *Pipeline) Run(ctx context.Context, q Request) (*Answer, error) {
	call := ops.CallFrom(ctx)
	call.Enter(ops.Intake)
	q = p.withExtracted(q)
	chosen, reading, err := p.read(ctx, q)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	call.Enter(ops.Assess)
	assessment := assess.Assess(&reading.Episode, chosen, reading.AsOf)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	call.Enter(ops.Record)
	issues := record.Issues(assessment, reading, q.Output)
	words := p.words(q)
	bundle := record.Build(assessment, reading, record.Options{Output: q.Output, Issues: issues, Words: words, Version: p.Version})
	if q.Documents || q.Sheet != record.NoSheet {
		call.Enter(ops.Documents)
	}
	if q.Documents {
		if err := record.AttachDocuments(bundle, assessment, issues, words); err != nil {
			return nil, err
		}
	}
	if err := record.AttachSheet(bundle, q.Sheet, assessment, issues, words); err != nil {
		return nil, err
	}
	answer := newAnswer(q.Output, assessment, issues, reading, bundle)
	answer.Patient = audit.Patient{Identity: reading.Patient, Reference: reading.Subject}
	answer.Words = words
	return answer, nil
}

// words are the texts of the answer to a request.
func (p *Pipeline) words(q Request) *wording.Catalogue {
	w := p.Words
	if w == nil {
		w = wording.For("en")
	}
	if q.Language != "" {
		w = w.In(q.Language)
	}
	var unit wording.ForceUnit
	if err := unit.UnmarshalText([]byte(q.Force)); q.Force != "" && err == nil { // Run refuses any other
		w = w.InForce(unit)
	}
	return w
}

// read understands a request, or says everything that is wrong with it.
func (p *Pipeline) read(ctx context.Context, q Request) (*protocol.Protocol, *intake.Reading, error) {
	chosen := p.Protocols.Find(q.Protocol)
	if chosen == nil {
		q.Problems = append(q.Problems, p.unknownProtocol(q))
	}
	if q.Bundle == nil && len(q.Problems) > 0 {
		return nil, nil, withProblems(q.Problems, nil)
	}
	var outcomes []protocol.OutcomeMeasure
	if chosen != nil {
		outcomes = chosen.OutcomeMeasures
	}
	reading, err := intake.ReadContext(ctx, intake.Input{
		Bundle: q.Bundle, Root: q.Root, Involved: q.Involved, AsOf: q.AsOf,
		Received: p.Now(), Codes: p.Codes, Response: q.Response, ResponseRoot: q.ResponseRoot,
		Outcomes: outcomes,
	})
	if refused, ok := errors.AsType[*fault.Errors](err); ok {
		refused.Issues = append(refused.Issues, q.Unmapped...)
		q.locate(refused.Issues)
	}
	if err := withProblems(q.Problems, err); err != nil {
		return nil, nil, err
	}
	q.locateReading(reading)
	return chosen, reading, nil
}

// outcomeMeasures are those of the protocol for requests that name none, and callers without a
// tenant: the page is read before anybody has said who asks.
func (s *Server) outcomeMeasures() []protocol.OutcomeMeasure {
	return s.pipelineOf(context.Background()).Protocols.Find("").OutcomeMeasures
}

func (p *Pipeline) unknownProtocol(q Request) fault.Issue {
	issue := fault.Issue{
		Severity: fault.Error,
		Kind:     fault.UnknownProtocol,
		Detail:   "protocol: no protocol of this name and version is loaded; expected one of " + p.Protocols.names(),
	}
	if q.Root != "Bundle" {
		issue.Path = "Parameters.parameter.where(name = 'protocol').value"
	}
	return issue
}

// withProblems adds problems of the parameters to a refusal. Without either it is nil.
func withProblems(problems []fault.Issue, err error) error {
	if len(problems) == 0 {
		return err
	}
	if err != nil {
		problems = append(problems, asErrors(err).Issues...)
	}
	return &fault.Errors{Issues: problems}
}
