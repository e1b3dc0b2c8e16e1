package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/redflag"
)

// addDetectedIssues adds an issue for each red flag that holds, for a record that
// shows such issues to whoever opens the patient: high severity, preliminary until a
// clinician has reviewed it, with the flag and its measurements as evidence.
func (b *builder) addDetectedIssues() {
	for i := range b.a.Readiness.Flags {
		if f := &b.a.Readiness.Flags[i]; f.Holds() {
			b.addDetectedIssue(f, b.flags[i])
		}
	}
}

func (b *builder) addDetectedIssue(f *redflag.Flag, flag fhir.Reference) {
	detail := b.w.Flag(f)
	issue := &fhir.DetectedIssue{
		Status:     statusUnverified,
		Code:       b.own(f.Code.String(), b.w.FlagName(f.Code)),
		Severity:   "high",
		Patient:    b.subject,
		Identified: fhir.DateTime(b.dateTime(f.Now.When)),
		Author:     b.device,
		Evidence:   []fhir.IssueEvidence{{Detail: append([]fhir.Reference{flag}, b.inputs.measured(f.Sources)...)}},
		Detail:     detail,
	}
	issue.Language = b.w.Language()
	b.add(issue, &issue.Common, "detected-issue/"+b.flagKey(f))
}
