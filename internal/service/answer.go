package service

import (
	"evenreach.example/internal/assess"
	"evenreach.example/internal/audit"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirproto"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/record"
	"evenreach.example/internal/service/encoded"
	"evenreach.example/internal/wording"
)

// An Answer is the answer to one request.
type Answer struct {
	// Bundle holds the results; nil for a check.
	Bundle *fhir.Bundle
	// Check lists what was understood, left out or missing of the input; nil
	// unless that is all that was asked for.
	Check *fhir.OperationOutcome
	// Assessment is what the results were written from.
	Assessment *assess.Assessment
	// Words are the texts that the results were written with.
	Words *wording.Catalogue
	// Issues are what was left out, corrected or missing of the input.
	Issues []fault.Issue
	// Patient is whom it is about, for the audit trail.
	Patient audit.Patient
	// Used is the number of measurements that were accepted.
	Used int
	// Reading is what was understood of the input.
	Reading *intake.Reading
}

// newAnswer makes an answer of what was built for an output. For a check that
// is a Bundle with nothing but the OperationOutcome.
func newAnswer(output record.Output, a *assess.Assessment, issues []fault.Issue, reading *intake.Reading, bundle *fhir.Bundle) *Answer {
	answer := &Answer{Bundle: bundle, Assessment: a, Issues: issues, Used: reading.Used, Reading: reading}
	if output == record.Check {
		answer.Bundle, answer.Check = nil, outcomeIn(bundle)
	}
	return answer
}

// outcomeIn is the OperationOutcome among the entries of a Bundle.
func outcomeIn(bundle *fhir.Bundle) *fhir.OperationOutcome {
	for i := range bundle.Entry {
		if outcome, ok := bundle.Entry[i].Resource.(*fhir.OperationOutcome); ok {
			return outcome
		}
	}
	return record.Outcome(nil)
}

// Resource is the answer as the FHIR operation gives it: the Bundle, or for a
// check the OperationOutcome.
func (a *Answer) Resource() fhir.Resource {
	if a.Bundle == nil {
		return a.Check
	}
	return a.Bundle
}

// Message is the answer as protocol buffers.
func (a *Answer) Message() (*encoded.AssessResponse, error) {
	bundle, err := asField(a.Bundle, fhirproto.Append)
	if err != nil {
		return nil, err
	}
	outcome, err := asField(a.outcome(), fhirproto.AppendOutcome)
	if err != nil {
		return nil, err
	}
	return &encoded.AssessResponse{Bundle: bundle, Outcome: outcome}, nil
}

// outcome lists what was left out, corrected or missing of the input, nil if
// there is nothing to list.
func (a *Answer) outcome() *fhir.OperationOutcome {
	if a.Check != nil || len(a.Issues) == 0 {
		return a.Check
	}
	return record.Outcome(a.Issues)
}
