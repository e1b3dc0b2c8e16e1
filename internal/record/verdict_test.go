package record

import (
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// One Bundle has one verdict: the text of the status is that of the conclusion where both
// rotations are even and something else, here pain at rest and of the day, is not known.
func TestTheStatusSaysWhatTheConclusionSays(t *testing.T) {
	s := newSent()
	for _, when := range [...]string{"2026-01-05", "2026-01-26", "2026-02-16", firstVisit} {
		for _, r := range shoulder.Trained {
			for _, p := range shoulder.TrainedPositions {
				s.both(when, r, p, "100")
			}
		}
		s.elevation(when, "175")
	}
	bundle := s.answer(t, Transaction)
	status := results(bundle, fhir.CodeOverallReadiness)[0].Value.(*fhir.CodeableConcept)
	report := of[*fhir.DiagnosticReport](bundle)[0]
	plan := of[*fhir.CarePlan](bundle)[0]
	if status.Coding[0].Code != "strengthening" || !strings.Contains(report.Conclusion, "even in all three positions") {
		t.Fatalf("%s: %q, want strengthening that waits with both rotations even", status.Coding[0].Code, report.Conclusion)
	}
	for what, text := range map[string]string{"status": status.Text, "plan": plan.Description, "conclusion code": report.ConclusionCode[0].Text} {
		if !strings.HasPrefix(report.Conclusion, text) {
			t.Errorf("%s %q, want what the conclusion begins with: %q", what, text, report.Conclusion)
		}
	}
}
