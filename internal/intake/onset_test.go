package intake

import (
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// When a condition began counts as far as it is dated, for the involved side, while it is active.
func TestOnsetsOfConditions(t *testing.T) {
	recurrence := func(onset fhir.Value, status, site string) *fhir.Condition {
		c := conditionOf("c2", fhir.SNOMEDFullThicknessTear, snomedConcept(site))
		c.Onset, c.ClinicalStatus = onset, concept(coding(fhir.SystemConditionClinical, status))
		return c
	}
	const right, left = fhir.SNOMEDRightShoulder, fhir.SNOMEDLeftShoulder
	tests := []struct {
		name string
		c    *fhir.Condition
		asOf string
		want string
	}{
		{"recurrence", recurrence(fhir.DateTime("2026-11-10"), "recurrence", right), "", "2026-11-10"},
		{"relapse over a period", recurrence(&fhir.Period{Start: "2026-11-10"}, "relapse", right), "", "2026-11-10"},
		{"of a day that has not come", recurrence(fhir.DateTime("2027-11-10"), "active", right), "", "2027-11-10"},
		{"later than the evaluation", recurrence(fhir.DateTime("2026-11-23"), "active", right), "2026-11-21", ""},
		{"a year alone", recurrence(fhir.DateTime("2026"), "active", right), "", ""},
		{"in words", recurrence(fhir.String("last week"), "active", right), "", ""},
		{"of the other side", recurrence(fhir.DateTime("2026-11-10"), "active", left), "", ""},
		{"over", recurrence(fhir.DateTime("2026-11-10"), "resolved", right), "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := readInput(t, Input{Bundle: bundle(strengthOf("s"), tt.c), Involved: shoulder.Right, Received: received, AsOf: tt.asOf}).Episode
			got := ""
			if len(e.Onsets) > 0 {
				got = e.Onsets[0].When.Format("2006-01-02")
			}
			if got != tt.want || len(e.Onsets) > 1 {
				t.Errorf("onsets %+v, want %q", e.Onsets, tt.want)
			}
		})
	}
}
