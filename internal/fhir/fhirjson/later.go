package fhirjson

import "slices"

// later are elements that FHIR R5 has and R4 has not, of the types that are read. A record that sends them sends another
// version of FHIR, which is to be said: its other elements may mean something else too.
//
// Source: FHIR R5, resource changes since R4, from memory.
var later = map[string][]string{
	"Bundle":           {"issues"},
	"Observation":      {"instantiatesCanonical", "instantiatesReference", "triggeredBy", "bodyStructure"},
	"Encounter":        {"actualPeriod", "plannedStartDate", "plannedEndDate", "subjectStatus", "admission", "virtualService", "careTeam", "reason"},
	"Procedure":        {"occurrenceDateTime", "occurrencePeriod", "occurrenceString", "occurrenceAge", "occurrenceRange", "recorded", "reportedBoolean", "reportedReference", "supportingInfo"},
	"Condition":        {"participant"},
	"Goal":             {"acceptance", "continuous"},
	"DiagnosticReport": {"note", "composition", "supportingInfo"},
	"DetectedIssue":    {"subject", "category"},
}

// versionHint says that an element that R4 has not is one of R5; empty if it is none.
func versionHint(typeName, element string) string {
	if !slices.Contains(later[typeName], element) {
		return ""
	}
	return "; FHIR R5 has it: expected FHIR R4"
}
