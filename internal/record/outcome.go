package record

import (
	"crypto/sha256"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
)

// Outcome lists issues as an OperationOutcome, in their order. FHIR asks for at
// least one, so that nothing to report is said in so many words.
func Outcome(issues []fault.Issue) *fhir.OperationOutcome {
	o := &fhir.OperationOutcome{Issue: make([]fhir.OutcomeIssue, 0, max(len(issues), 1))}
	for i := range issues {
		o.Issue = append(o.Issue, outcomeIssue(&issues[i]))
	}
	if len(issues) == 0 {
		o.Issue = append(o.Issue, fhir.OutcomeIssue{
			Severity: fault.Information.String(), Code: "informational",
			Details: &fhir.CodeableConcept{Text: "nothing was dropped, corrected or missing"},
		})
	}
	return o
}

func outcomeIssue(i *fault.Issue) fhir.OutcomeIssue {
	out := fhir.OutcomeIssue{
		Severity: i.Severity.String(),
		Code:     i.Kind.IssueType(),
		Details: &fhir.CodeableConcept{
			Coding: []fhir.Coding{{System: fhir.SystemInputIssue, Code: i.Kind.String(), Display: i.Kind.Display()}},
			Text:   i.Detail,
		},
		Diagnostics: i.Diagnostic,
	}
	if i.Path != "" {
		out.Expression = []string{i.Path}
	}
	return out
}

// addOutcome adds the OperationOutcome entry of a collection, with a narrative
// as every entry has one. A contained one is part of its container's.
func (b *builder) addOutcome(o *fhir.OperationOutcome) {
	texts := make([]string, len(o.Issue))
	for i := range o.Issue {
		if d := o.Issue[i].Details; d != nil {
			texts[i] = titledText(d.Text, o.Issue[i].Diagnostics)
		}
	}
	o.Text = b.narrative(texts...)
	b.written = fhirjson.AppendResource(b.written[:0], o)
	says := sha256.Sum256(b.written)
	value := resultID{whose: b.whose, what: b.what(o.Type(), "outcome", b.date(b.a.AsOf)), says: b.hex(says[:saysBytes])}
	id := fhir.Identifier{System: fhir.SystemResult, Value: b.textOf(value)}
	b.outcome = b.addAs(o, id, "")
}
