package record

import (
	"testing"

	"evenreach.example/internal/fhir"
)

// Each red flag that holds is an issue of high severity, with the flag first among
// its evidence; an examined one is none.
func TestDetectedIssues(t *testing.T) {
	for _, tt := range flagCases {
		t.Run(tt.flag, func(t *testing.T) {
			s := newSent()
			tt.make(s)
			b := s.answer(t, Transaction)
			issues := of[*fhir.DetectedIssue](b)
			if len(issues) != 1 {
				t.Fatalf("%d detected issues, want one", len(issues))
			}
			issue := issues[0]
			if issue.Severity != "high" || issue.Status != "preliminary" || !hasCode(issue.Code, tt.flag) || valueOf(issue.Identified) != tt.effective {
				t.Errorf("%s %s at %s, want %s, high, preliminary, at %s (%s)",
					issue.Severity, issue.Status, valueOf(issue.Identified), tt.flag, tt.effective, tt.source)
			}
			evidence := issue.Evidence[0].Detail
			if len(evidence) < 2 || evidence[0].Reference != b.Entry[1].FullURL {
				t.Errorf("evidence %v, want the red flag and its measurements", evidence)
			}
			if issue.Patient == nil || issue.Detail == "" {
				t.Errorf("%+v, want the patient and what was found", issue)
			}
		})
	}
}

func TestAnExaminedFlagIsNoDetectedIssue(t *testing.T) {
	s := weakened()
	s.statement(fhir.CodeExaminedAndCleared, fhir.Boolean(true))
	if issues := of[*fhir.DetectedIssue](s.answer(t, Transaction)); len(issues) != 0 {
		t.Errorf("%d detected issues of an examined shoulder, want none", len(issues))
	}
}
