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

// otherVersions are the resource types that R4 has not, but R4B or R5, or STU3 had. None of them is read, and none holds a
// measurement, so that a resource of one is known to be about something else.
//
// Source: FHIR STU3, R4B and R5, lists of resources, from memory.
var otherVersions = []string{
	// R4B and R5
	"ActorDefinition", "AdministrableProductDefinition", "ArtifactAssessment", "BiologicallyDerivedProductDispense", "Citation",
	"ClinicalUseDefinition", "ConditionDefinition", "DeviceAssociation", "DeviceDispense", "DeviceUsage", "EncounterHistory",
	"EvidenceReport", "FormularyItem", "GenomicStudy", "ImagingSelection", "Ingredient", "InventoryItem", "InventoryReport",
	"ManufacturedItemDefinition", "MedicinalProductDefinition", "NutritionIntake", "NutritionProduct", "PackagedProductDefinition",
	"Permission", "RegulatedAuthorization", "RequestOrchestration", "Requirements", "SubscriptionStatus", "SubscriptionTopic",
	"SubstanceDefinition", "TestPlan", "Transport",
	// STU3
	"BodySite", "DataElement", "DeviceComponent", "EligibilityRequest", "EligibilityResponse", "ExpansionProfile",
	"ImagingManifest", "ProcedureRequest", "ProcessRequest", "ProcessResponse", "ReferralRequest", "Sequence", "ServiceDefinition",
}

func isOtherVersion(typeName string) bool { return slices.Contains(otherVersions, typeName) }

// typeHint says that a resource type is one of another version of FHIR; empty if it is none.
func typeHint(typeName string) string {
	if !isOtherVersion(typeName) {
		return ""
	}
	return "; another version of FHIR has it: expected FHIR R4"
}

// versionHint says that an element that R4 has not is one of R5; empty if it is none.
func versionHint(typeName, element string) string {
	if !slices.Contains(later[typeName], element) {
		return ""
	}
	return "; FHIR R5 has it: expected FHIR R4"
}
