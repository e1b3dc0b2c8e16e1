package record

import (
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/wording"
)

// Outcome lists issues as an OperationOutcome, in their order, in English. FHIR requires at
// least one, so if there is none an informational issue says so.
func Outcome(issues []fault.Issue) *fhir.OperationOutcome { return outcome(issues, wording.For("en")) }

// outcome is Outcome in a language. What was expected is in English, for whoever mends the
// input; in another language it stands among the diagnostics.
func outcome(issues []fault.Issue, w *wording.Catalogue) *fhir.OperationOutcome {
	return outcomeMerging(issues, w, func(_, _ *fault.Issue) bool { return false })
}

// outcomeMerging is outcome in which issues that are the same as the one before add their path
// to it.
func outcomeMerging(issues []fault.Issue, w *wording.Catalogue, same func(a, b *fault.Issue) bool) *fhir.OperationOutcome {
	o := &fhir.OperationOutcome{}
	for i := range issues {
		if i > 0 && same(&issues[i-1], &issues[i]) {
			appendPath(&o.Issue[len(o.Issue)-1], &issues[i])
			continue
		}
		o.Issue = append(o.Issue, outcomeIssue(&issues[i], w))
	}
	if len(issues) == 0 {
		o.Issue = append(o.Issue, fhir.OutcomeIssue{
			Severity: fault.Information.String(), Code: "informational",
			Details: &fhir.CodeableConcept{Text: w.InputClean()},
		})
	}
	return o
}

// messages are the issues about the input in an answer: equal issues at several paths are
// merged into one.
func (b *builder) messages() *fhir.OperationOutcome {
	return outcomeMerging(b.issues, b.w, sameMessage)
}

// placeSeparator stands between the diagnostics of several paths.
const placeSeparator = "; "

// sameMessage reports whether two issues differ only in their path and diagnostics.
func sameMessage(a, b *fault.Issue) bool {
	single := func(i *fault.Issue) bool {
		return i.Path != "" && i.Diagnostic != "" && !strings.Contains(i.Diagnostic, placeSeparator)
	}
	return a.Severity == b.Severity && a.Kind == b.Kind && a.Detail == b.Detail && single(a) && single(b)
}

// appendPath adds the path of an issue, with its diagnostics, to an equal issue.
func appendPath(out *fhir.OutcomeIssue, i *fault.Issue) {
	out.Expression = append(out.Expression, i.Path)
	out.Diagnostics += placeSeparator + i.Diagnostic
}

func outcomeIssue(i *fault.Issue, w *wording.Catalogue) fhir.OutcomeIssue {
	text, diagnostics := w.IssueText(i)
	out := fhir.OutcomeIssue{
		Severity: i.Severity.String(),
		Code:     i.Kind.IssueType(),
		Details: &fhir.CodeableConcept{
			Coding: []fhir.Coding{{System: fhir.SystemInputIssue, Code: i.Kind.String(), Display: i.Kind.Display()}},
			Text:   text,
		},
		Diagnostics: diagnostics,
	}
	if i.Path != "" {
		out.Expression = []string{i.Path}
	}
	return out
}

// addOutcome adds the OperationOutcome entry of a collection.
func (b *builder) addOutcome(o *fhir.OperationOutcome) {
	b.written = fhirjson.AppendContent(b.written[:0], o)
	content := digestOf(b.written)
	value := resultID{shoulder: b.shoulder, question: b.questionDigest(o.Type(), "outcome", b.date(b.a.AsOf)), content: b.hex(content[:])}
	id := fhir.Identifier{System: fhir.SystemResult, Value: b.textOf(value)}
	b.outcome = b.addAs(o, id, "")
}
