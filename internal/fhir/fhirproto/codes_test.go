package fhirproto

import (
	"slices"
	"strings"
	"testing"
)

// sorted are the codes of a table, in alphabetical order.
func (c codes) sorted() []string {
	var all []string
	for _, text := range c {
		if text != "" {
			all = append(all, text)
		}
	}
	slices.Sort(all)
	return all
}

func TestCodeTables(t *testing.T) {
	tests := []struct {
		name   string
		codes  []string
		want   string // in alphabetical order
		source string
	}{
		{"bundle types", bundleTypeCode.sorted(), "batch batch-response collection document history message searchset transaction transaction-response", "bundle-type"},
		{"http verbs", httpVerbCode.sorted(), "DELETE GET HEAD PATCH POST PUT", "http-verb"},
		{"narrative statuses", narrativeStatusCode.sorted(), "additional empty extensions generated", "narrative-status"},
		{"comparators", quantityComparatorCode.sorted(), "< <= > >=", "quantity-comparator"},
		{"observation statuses", observationStatusCode.sorted(), "amended cancelled corrected entered-in-error final preliminary registered unknown", "observation-status"},
		{"procedure statuses", eventStatusCode.sorted(), "completed entered-in-error in-progress not-done on-hold preparation stopped unknown", "event-status"},
		{"encounter statuses", encounterStatusCode.sorted(), "arrived cancelled entered-in-error finished in-progress onleave planned triaged unknown", "encounter-status"},
		{"goal statuses", goalLifecycleStatusCode.sorted(), "accepted active cancelled completed entered-in-error on-hold planned proposed rejected", "goal-status"},
		{"plan statuses", requestStatusCode.sorted(), "active completed draft entered-in-error on-hold revoked unknown", "request-status"},
		{"plan intents", carePlanIntentValueSet.sorted(), "option order plan proposal", "care-plan-intent"},
		{"activity kinds", carePlanActivityKindValueSet.sorted(), "Appointment CommunicationRequest DeviceRequest MedicationRequest NutritionOrder ServiceRequest Task VisionPrescription", "care-plan-activity-kind"},
		{"activity statuses", carePlanActivityStatusCode.sorted(), "cancelled completed entered-in-error in-progress not-started on-hold scheduled stopped unknown", "care-plan-activity-status"},
		{"report statuses", diagnosticReportStatusCode.sorted(), "amended appended cancelled corrected entered-in-error final partial preliminary registered unknown", "diagnostic-report-status"},
		{"entity roles", provenanceEntityRoleCode.sorted(), "derivation quotation removal revision source", "provenance-entity-role"},
		{"device statuses", fhirDeviceStatusCode.sorted(), "active entered-in-error inactive unknown", "device-status"},
		{"device name types", deviceNameTypeCode.sorted(), "manufacturer-name model-name other patient-reported-name udi-label-name user-friendly-name", "device-nametype"},
		{"questionnaire response statuses", questionnaireResponseStatusCode.sorted(), "amended completed entered-in-error in-progress stopped", "questionnaire-answers-status"},
		{"detected issue severities", detectedIssueSeverityCode.sorted(), "high low moderate", "detectedissue-severity"},
		{"issue severities", issueSeverityCode.sorted(), "error fatal information warning", "issue-severity"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := strings.Join(tt.codes, " "); got != tt.want {
				t.Errorf("codes = %s, want %s (FHIR R4 4.0.1, value set %s)", got, tt.want, tt.source)
			}
		})
	}
}

func TestCodesBothWays(t *testing.T) {
	for number, text := range issueTypeCode[1:] {
		value, ok := issueTypeCode.value(text)
		if got := issueTypeCode.text(value); !ok || got != text || int(value) != number+1 {
			t.Errorf("%q is %v, which is %q", text, value, got)
		}
	}
	if got := issueTypeCode.text(0); got != "" {
		t.Errorf("the unset value has the code %q", got)
	}
	for _, unknown := range []string{"", "Invalid", "INVALID", "code_invalid", "bogus", "invalid-uninitialized"} {
		if value, ok := issueTypeCode.value(unknown); ok {
			t.Errorf("%q is read as %v", unknown, value)
		}
	}
}
