package fhirjson

import "slices"

// r4 lists the elements that R4 gives each type that is read, in R4's order, as
// copied from the specification. An element with an underscore is a primitive, so
// that a sibling with the underscore may carry its extensions.
//
// Source: FHIR R4 4.0.1, the snapshots of the StructureDefinitions.
var r4 = map[string][]string{
	"Bundle": {
		"id", "meta", "_implicitRules", "_language", "identifier", "_type", "_timestamp", "_total", "link", "entry",
		"signature",
	},
	"Bundle.entry": {
		"id", "extension", "modifierExtension", "link", "_fullUrl", "resource", "search", "request", "response",
	},
	"Bundle.entry.request": {
		"id", "extension", "modifierExtension", "_method", "_url", "_ifNoneMatch", "_ifModifiedSince", "_ifMatch",
		"_ifNoneExist",
	},
	"Parameters": {"id", "meta", "_implicitRules", "_language", "parameter"},
	"Parameters.parameter": slices.Concat(
		[]string{"id", "extension", "modifierExtension", "_name"}, r4Values, []string{"resource", "part"},
	),
	"Observation": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "basedOn", "partOf", "_status", "category", "code", "subject", "focus", "encounter",
		"_effectiveDateTime", "effectivePeriod", "effectiveTiming", "_effectiveInstant", "_issued", "performer",
		"valueQuantity", "valueCodeableConcept", "_valueString", "_valueBoolean", "_valueInteger", "valueRange",
		"valueRatio", "valueSampledData", "_valueTime", "_valueDateTime", "valuePeriod", "dataAbsentReason",
		"interpretation", "note", "bodySite", "method", "specimen", "device", "referenceRange", "hasMember",
		"derivedFrom", "component",
	},
	"Observation.referenceRange": {
		"id", "extension", "modifierExtension", "low", "high", "type", "appliesTo", "age", "_text",
	},
	"Observation.component": {
		"id", "extension", "modifierExtension", "code", "valueQuantity", "valueCodeableConcept", "_valueString",
		"_valueBoolean", "_valueInteger", "valueRange", "valueRatio", "valueSampledData", "_valueTime",
		"_valueDateTime", "valuePeriod", "dataAbsentReason", "interpretation", "referenceRange",
	},
	"Patient": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "_active", "name", "telecom", "_gender", "_birthDate", "_deceasedBoolean",
		"_deceasedDateTime", "address", "maritalStatus", "_multipleBirthBoolean", "_multipleBirthInteger", "photo",
		"contact", "communication", "generalPractitioner", "managingOrganization", "link",
	},
	"Condition": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "clinicalStatus", "verificationStatus", "category", "severity", "code", "bodySite", "subject",
		"encounter", "_onsetDateTime", "onsetAge", "onsetPeriod", "onsetRange", "_onsetString",
		"_abatementDateTime", "abatementAge", "abatementPeriod", "abatementRange", "_abatementString",
		"_recordedDate", "recorder", "asserter", "stage", "evidence", "note",
	},
	"Procedure": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "_instantiatesCanonical", "_instantiatesUri", "basedOn", "partOf", "_status", "statusReason",
		"category", "code", "subject", "encounter", "_performedDateTime", "performedPeriod", "_performedString",
		"performedAge", "performedRange", "recorder", "asserter", "performer", "location", "reasonCode",
		"reasonReference", "bodySite", "outcome", "report", "complication", "complicationDetail", "followUp",
		"note", "focalDevice", "usedReference", "usedCode",
	},
	"Encounter": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "_status", "statusHistory", "class", "classHistory", "type", "serviceType", "priority",
		"subject", "episodeOfCare", "basedOn", "participant", "appointment", "period", "length", "reasonCode",
		"reasonReference", "diagnosis", "account", "hospitalization", "location", "serviceProvider", "partOf",
	},
	"Goal": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "_lifecycleStatus", "achievementStatus", "category", "priority", "description", "subject",
		"_startDate", "startCodeableConcept", "target", "_statusDate", "_statusReason", "expressedBy", "addresses",
		"note", "outcomeCode", "outcomeReference",
	},
	"Goal.target": {
		"id", "extension", "modifierExtension", "measure", "detailQuantity", "detailRange", "detailCodeableConcept",
		"_detailString", "_detailBoolean", "_detailInteger", "detailRatio", "_dueDate", "dueDuration",
	},
	"CarePlan": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "_instantiatesCanonical", "_instantiatesUri", "basedOn", "replaces", "partOf", "_status",
		"_intent", "category", "_title", "_description", "subject", "encounter", "period", "_created", "author",
		"contributor", "careTeam", "addresses", "supportingInfo", "goal", "activity", "note",
	},
	"CarePlan.activity": {
		"id", "extension", "modifierExtension", "outcomeCodeableConcept", "outcomeReference", "progress",
		"reference", "detail",
	},
	"CarePlan.activity.detail": {
		"id", "extension", "modifierExtension", "_kind", "_instantiatesCanonical", "_instantiatesUri", "code",
		"reasonCode", "reasonReference", "goal", "_status", "statusReason", "_doNotPerform", "scheduledTiming",
		"scheduledPeriod", "_scheduledString", "location", "performer", "productCodeableConcept",
		"productReference", "dailyAmount", "quantity", "_description",
	},
	"DiagnosticReport": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "basedOn", "_status", "category", "code", "subject", "encounter", "_effectiveDateTime",
		"effectivePeriod", "_issued", "performer", "resultsInterpreter", "specimen", "result", "imagingStudy",
		"media", "_conclusion", "conclusionCode", "presentedForm",
	},
	"Provenance": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"target", "occurredPeriod", "_occurredDateTime", "_recorded", "_policy", "location", "reason", "activity",
		"agent", "entity", "signature",
	},
	"Provenance.agent":  {"id", "extension", "modifierExtension", "type", "role", "who", "onBehalfOf"},
	"Provenance.entity": {"id", "extension", "modifierExtension", "_role", "what", "agent"},
	"Device": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "definition", "udiCarrier", "_status", "statusReason", "_distinctIdentifier", "_manufacturer",
		"_manufactureDate", "_expirationDate", "_lotNumber", "_serialNumber", "deviceName", "_modelNumber",
		"_partNumber", "type", "specialization", "version", "property", "patient", "owner", "contact", "location",
		"_url", "note", "safety", "parent",
	},
	"Device.deviceName": {"id", "extension", "modifierExtension", "_name", "_type"},
	"Device.version":    {"id", "extension", "modifierExtension", "type", "component", "_value"},
	"OperationOutcome": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension", "issue",
	},
	"OperationOutcome.issue": {
		"id", "extension", "modifierExtension", "_severity", "_code", "details", "_diagnostics", "_location",
		"_expression",
	},
	"DetectedIssue": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "_status", "code", "_severity", "patient", "_identifiedDateTime", "identifiedPeriod", "author",
		"implicated", "evidence", "_detail", "_reference", "mitigation",
	},
	"DetectedIssue.evidence":   {"id", "extension", "modifierExtension", "code", "detail"},
	"DetectedIssue.mitigation": {"id", "extension", "modifierExtension", "action", "_date", "author"},
	"QuestionnaireResponse": {
		"id", "meta", "_implicitRules", "_language", "text", "contained", "extension", "modifierExtension",
		"identifier", "basedOn", "partOf", "_questionnaire", "_status", "subject", "encounter", "_authored", "author",
		"source", "item",
	},
	"QuestionnaireResponse.item": {
		"id", "extension", "modifierExtension", "_linkId", "_definition", "_text", "answer", "item",
	},
	"QuestionnaireResponse.item.answer": {
		"id", "extension", "modifierExtension", "_valueBoolean", "_valueDecimal", "_valueInteger", "_valueDate",
		"_valueDateTime", "_valueTime", "_valueString", "_valueUri", "valueAttachment", "valueCoding", "valueQuantity",
		"valueReference", "item",
	},
	"Meta":                {"id", "extension", "_versionId", "_lastUpdated", "_source", "_profile", "security", "tag"},
	"Narrative":           {"id", "extension", "_status", "_div"},
	"Coding":              {"id", "extension", "_system", "_version", "_code", "_display", "_userSelected"},
	"CodeableConcept":     {"id", "extension", "coding", "_text"},
	"Reference":           {"id", "extension", "_reference", "_type", "identifier", "_display"},
	"HumanName":           {"id", "extension", "_use", "_text", "_family", "_given", "_prefix", "_suffix", "period"},
	"Bundle.link":         {"id", "extension", "modifierExtension", "_relation", "_url"},
	"Bundle.entry.search": {"id", "extension", "modifierExtension", "_mode", "_score"},
	"Bundle.entry.response": {
		"id", "extension", "modifierExtension", "_status", "_location", "_etag", "_lastModified", "outcome",
	},
	"Identifier": {"id", "extension", "_use", "type", "_system", "_value", "period", "assigner"},
	"Quantity":   {"id", "extension", "_value", "_comparator", "_unit", "_system", "_code"},
	"Period":     {"id", "extension", "_start", "_end"},
	"Annotation": {"id", "extension", "authorReference", "_authorString", "_time", "_text"},
	"Extension":  slices.Concat([]string{"id", "extension", "url"}, r4Values),
	"Attachment": {
		"id", "extension", "_contentType", "_language", "_data", "_url", "_size", "_hash", "_title", "_creation",
	},
}

// r4Values lists the members that value[x] of an extension or a parameter can
// be, in the form of elements.
//
// Source: FHIR R4 4.0.1, data types, "open type element".
var r4Values = []string{
	"_valueBase64Binary", "_valueBoolean", "_valueCanonical", "_valueCode", "_valueDate", "_valueDateTime",
	"_valueDecimal", "_valueId", "_valueInstant", "_valueInteger", "_valueMarkdown", "_valueOid",
	"_valuePositiveInt", "_valueString", "_valueTime", "_valueUnsignedInt", "_valueUri", "_valueUrl",
	"_valueUuid", "valueAddress", "valueAge", "valueAnnotation", "valueAttachment", "valueCodeableConcept",
	"valueCoding", "valueContactPoint", "valueCount", "valueDistance", "valueDuration", "valueHumanName",
	"valueIdentifier", "valueMoney", "valuePeriod", "valueQuantity", "valueRange", "valueRatio",
	"valueReference", "valueSampledData", "valueSignature", "valueTiming", "valueContactDetail",
	"valueContributor", "valueDataRequirement", "valueExpression", "valueParameterDefinition",
	"valueRelatedArtifact", "valueTriggerDefinition", "valueUsageContext", "valueDosage", "valueMeta",
}

// r4ResourceTypes lists the resource types of R4, in alphabetical order.
//
// Source: FHIR R4 4.0.1, resource list.
var r4ResourceTypes = []string{
	"Account", "ActivityDefinition", "AdverseEvent", "AllergyIntolerance", "Appointment", "AppointmentResponse",
	"AuditEvent", "Basic", "Binary", "BiologicallyDerivedProduct", "BodyStructure", "Bundle",
	"CapabilityStatement", "CarePlan", "CareTeam", "CatalogEntry", "ChargeItem", "ChargeItemDefinition",
	"Claim", "ClaimResponse", "ClinicalImpression", "CodeSystem", "Communication", "CommunicationRequest",
	"CompartmentDefinition", "Composition", "ConceptMap", "Condition", "Consent", "Contract", "Coverage",
	"CoverageEligibilityRequest", "CoverageEligibilityResponse", "DetectedIssue", "Device", "DeviceDefinition",
	"DeviceMetric", "DeviceRequest", "DeviceUseStatement", "DiagnosticReport", "DocumentManifest",
	"DocumentReference", "EffectEvidenceSynthesis", "Encounter", "Endpoint", "EnrollmentRequest",
	"EnrollmentResponse", "EpisodeOfCare", "EventDefinition", "Evidence", "EvidenceVariable", "ExampleScenario",
	"ExplanationOfBenefit", "FamilyMemberHistory", "Flag", "Goal", "GraphDefinition", "Group",
	"GuidanceResponse", "HealthcareService", "ImagingStudy", "Immunization", "ImmunizationEvaluation",
	"ImmunizationRecommendation", "ImplementationGuide", "InsurancePlan", "Invoice", "Library", "Linkage",
	"List", "Location", "Measure", "MeasureReport", "Media", "Medication", "MedicationAdministration",
	"MedicationDispense", "MedicationKnowledge", "MedicationRequest", "MedicationStatement", "MedicinalProduct",
	"MedicinalProductAuthorization", "MedicinalProductContraindication", "MedicinalProductIndication",
	"MedicinalProductIngredient", "MedicinalProductInteraction", "MedicinalProductManufactured",
	"MedicinalProductPackaged", "MedicinalProductPharmaceutical", "MedicinalProductUndesirableEffect",
	"MessageDefinition", "MessageHeader", "MolecularSequence", "NamingSystem", "NutritionOrder", "Observation",
	"ObservationDefinition", "OperationDefinition", "OperationOutcome", "Organization",
	"OrganizationAffiliation", "Parameters", "Patient", "PaymentNotice", "PaymentReconciliation", "Person",
	"PlanDefinition", "Practitioner", "PractitionerRole", "Procedure", "Provenance", "Questionnaire",
	"QuestionnaireResponse", "RelatedPerson", "RequestGroup", "ResearchDefinition", "ResearchElementDefinition",
	"ResearchStudy", "ResearchSubject", "RiskAssessment", "RiskEvidenceSynthesis", "Schedule",
	"SearchParameter", "ServiceRequest", "Slot", "Specimen", "SpecimenDefinition", "StructureDefinition",
	"StructureMap", "Subscription", "Substance", "SubstanceNucleicAcid", "SubstancePolymer", "SubstanceProtein",
	"SubstanceReferenceInformation", "SubstanceSourceMaterial", "SubstanceSpecification", "SupplyDelivery",
	"SupplyRequest", "Task", "TerminologyCapabilities", "TestReport", "TestScript", "ValueSet",
	"VerificationResult", "VisionPrescription",
}
