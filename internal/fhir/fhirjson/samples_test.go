package fhirjson_test

import "evenreach.example/internal/fhir"

// jsonSamples holds one resource of every type, with every element set.
func jsonSamples() []fhir.Resource {
	return []fhir.Resource{
		sampleObservation(), samplePatient(), sampleCondition(), sampleProcedure(), sampleEncounter(), sampleGoal(),
		sampleCarePlan(), sampleDiagnosticReport(), sampleProvenance(), sampleDevice(), sampleOutcome(),
		sampleBundle(), sampleParameters(), sampleDetectedIssue(), sampleResponse(), &fhir.Other{TypeName: "Medication", ID: "m"},
	}
}

func sampleCommon() fhir.Common {
	return fhir.Common{
		ID: "a-1",
		Meta: &fhir.Meta{
			VersionID: "2", LastUpdated: "2026-10-05T09:00:00.123+02:00", Source: "urn:a:source",
			Profile: []string{"https://a.example/p|1", "https://a.example/q"},
			Tag:     []fhir.Coding{{System: "urn:a:tags", Code: "t"}},
		},
		ImplicitRules:     "urn:a:rules",
		Language:          "en",
		Text:              &fhir.Narrative{Status: "generated", Div: `<div xmlns="http://www.w3.org/1999/xhtml">60 &lt; 90</div>`},
		Contained:         []fhir.Resource{&fhir.Patient{Common: fhir.Common{ID: "p"}}, &fhir.Other{TypeName: "Organization", ID: "o"}},
		Extension:         []fhir.Extension{{URL: "urn:a:x", Value: fhir.Boolean(false)}, {URL: "urn:a:y", Extension: []fhir.Extension{{URL: "z", Value: fhir.Integer(0)}}}},
		ModifierExtension: []fhir.Extension{{URL: "urn:a:m", Value: fhir.Code("c")}},
		Identifier:        []fhir.Identifier{{System: "urn:a:ids", Value: "1"}},
	}
}

func sampleConcept() *fhir.CodeableConcept {
	return &fhir.CodeableConcept{
		Extension: []fhir.Extension{{URL: "urn:a:side", Value: &fhir.CodeableConcept{Text: "right"}}},
		Coding:    []fhir.Coding{{System: "urn:a:codes", Version: "1", Code: "c", Display: "d"}, {Code: "e"}},
		Text:      "f",
	}
}

func sampleReference() *fhir.Reference {
	return &fhir.Reference{Reference: "Patient/p", TypeName: "Patient", Identifier: &fhir.Identifier{System: "urn:a:ids", Value: "1"}, Display: "d"}
}

func sampleQuantity() *fhir.Quantity {
	return &fhir.Quantity{Value: "21.50", Comparator: ">=", Unit: "lbf", System: "http://unitsofmeasure.org", Code: "[lbf_av]"}
}

func sampleObservation() *fhir.Observation {
	r := fhir.ReferenceRange{Low: sampleQuantity(), High: sampleQuantity(), Kind: sampleConcept(), Text: "t"}
	return &fhir.Observation{
		Common: sampleCommon(), Status: "final", Category: []fhir.CodeableConcept{*sampleConcept(), {Text: "b"}}, Code: *sampleConcept(),
		Subject: sampleReference(), Focus: []fhir.Reference{*sampleReference()}, Encounter: sampleReference(), Effective: &fhir.Period{Start: "2026", End: "2026-10"},
		Issued: "2026-10-05T09:00:00Z", Performer: []fhir.Reference{*sampleReference()}, Value: sampleQuantity(),
		DataAbsentReason: sampleConcept(), Interpretation: []fhir.CodeableConcept{*sampleConcept()}, Note: []fhir.Annotation{{Text: "n\nn"}},
		BodySite: sampleConcept(), Method: sampleConcept(), Device: sampleReference(), ReferenceRange: []fhir.ReferenceRange{r},
		HasMember: []fhir.Reference{*sampleReference()}, DerivedFrom: []fhir.Reference{*sampleReference()},
		Component: []fhir.Component{{
			ModifierExtension: []fhir.Extension{{URL: "urn:a", Value: fhir.String("s")}}, Code: *sampleConcept(), Value: fhir.DateTime("2026"),
			DataAbsentReason: sampleConcept(), Interpretation: []fhir.CodeableConcept{*sampleConcept()}, ReferenceRange: []fhir.ReferenceRange{r},
		}},
	}
}

func samplePatient() *fhir.Patient {
	return &fhir.Patient{Common: sampleCommon(), Name: []fhir.HumanName{{Text: "Example Invented", Family: "Invented", Given: []string{"Example"}}}, BirthDate: "1971-04"}
}

func sampleCondition() *fhir.Condition {
	return &fhir.Condition{
		Common: sampleCommon(), ClinicalStatus: sampleConcept(), VerificationStatus: sampleConcept(), Code: sampleConcept(),
		BodySite: []fhir.CodeableConcept{*sampleConcept()}, Subject: sampleReference(), Onset: fhir.String("last winter"),
	}
}

func sampleProcedure() *fhir.Procedure {
	return &fhir.Procedure{
		Common: sampleCommon(), Status: "completed", Code: sampleConcept(), Subject: sampleReference(),
		Performed: fhir.DateTime("2026-01-19"), BodySite: []fhir.CodeableConcept{*sampleConcept()},
	}
}

func sampleEncounter() *fhir.Encounter {
	return &fhir.Encounter{
		Common: sampleCommon(), Status: "finished", Class: fhir.Coding{System: "urn:a:classes", Code: "AMB"},
		Subject: sampleReference(), Period: &fhir.Period{Start: "2026-10-05T09:00:00+02:00"},
	}
}

func sampleGoal() *fhir.Goal {
	return &fhir.Goal{
		Common: sampleCommon(), LifecycleStatus: "proposed", AchievementStatus: sampleConcept(), Category: []fhir.CodeableConcept{*sampleConcept()},
		Description: *sampleConcept(), Subject: sampleReference(), StartDate: "2026-10-05",
		Priority: sampleConcept(), StatusDate: "2026-10-06", StatusReason: "r", ExpressedBy: sampleReference(),
		Target:    []fhir.Target{{Measure: sampleConcept(), Detail: sampleQuantity(), DueDate: "2027-01"}},
		Addresses: []fhir.Reference{*sampleReference()}, Note: []fhir.Annotation{{Text: "n"}}, OutcomeReference: []fhir.Reference{*sampleReference()},
		OutcomeCode: []fhir.CodeableConcept{*sampleConcept()},
	}
}

func sampleCarePlan() *fhir.CarePlan {
	references := []fhir.Reference{*sampleReference(), {Display: "d"}}
	return &fhir.CarePlan{
		Common: sampleCommon(), InstantiatesCanonical: []string{"urn:a:plan|1"}, Replaces: references, Status: "draft", Intent: "proposal",
		Category: []fhir.CodeableConcept{*sampleConcept()}, Title: "t", Description: "d", Subject: sampleReference(), Encounter: sampleReference(),
		Period: &fhir.Period{Start: "2026"}, Created: "2026-10-05", Author: sampleReference(), Addresses: references, SupportingInfo: references,
		Goal: references, Note: []fhir.Annotation{{Author: sampleReference(), Time: "2026-10-05T09:00:00Z", Text: "n"}, {Author: fhir.String("a"), Text: "o"}},
		InstantiatesUri: []string{"urn:a:uri"}, BasedOn: references, PartOf: references, Contributor: references, CareTeam: references,
		Activity: []fhir.Activity{
			{
				OutcomeCodeableConcept: []fhir.CodeableConcept{*sampleConcept()}, OutcomeReference: references,
				Progress: []fhir.Annotation{{Text: "p"}}, Reference: sampleReference(),
			},
			{Detail: &fhir.ActivityDetail{
				InstantiatesUri: []string{"urn:a:uri"}, Location: sampleReference(), Performer: references,
				DailyAmount: sampleQuantity(), Quantity: sampleQuantity(),
				Kind: "ServiceRequest", InstantiatesCanonical: []string{"urn:a:activity|1"}, Code: sampleConcept(),
				ReasonCode: []fhir.CodeableConcept{*sampleConcept()}, ReasonReference: references, Goal: references, Status: "not-started",
				StatusReason: sampleConcept(), DoNotPerform: true, ScheduledPeriod: &fhir.Period{End: "2026"}, Description: "d",
			}},
			{Detail: &fhir.ActivityDetail{Status: "scheduled", ScheduledString: "three times a week"}},
		},
	}
}

func sampleDiagnosticReport() *fhir.DiagnosticReport {
	return &fhir.DiagnosticReport{
		Common: sampleCommon(), Status: "preliminary", Category: []fhir.CodeableConcept{*sampleConcept()}, Code: *sampleConcept(),
		Subject: sampleReference(), Encounter: sampleReference(), Effective: fhir.DateTime("2026-10-05T09:00:00Z"), Issued: "2026-10-05T09:00:00Z",
		Performer: []fhir.Reference{*sampleReference()}, ResultsInterpreter: []fhir.Reference{*sampleReference()}, Result: []fhir.Reference{*sampleReference()}, Conclusion: "c",
		ConclusionCode: []fhir.CodeableConcept{*sampleConcept()},
		PresentedForm:  []fhir.Attachment{{ContentType: "application/pdf", Language: "en", Data: []byte{0, 1, 254, 255}, Title: "t", Creation: "2026"}},
	}
}

func sampleProvenance() *fhir.Provenance {
	common := sampleCommon()
	common.Identifier = nil
	return &fhir.Provenance{
		Common: common, Target: []fhir.Reference{*sampleReference()}, Occurred: &fhir.Period{Start: "2026"}, Recorded: "2026-10-05T09:00:00Z",
		Policy: []string{"urn:a:policy"}, Activity: sampleConcept(), Agent: []fhir.Agent{{Kind: sampleConcept(), Who: *sampleReference()}},
		Entity: []fhir.ProvenanceEntity{{Role: "source", What: *sampleReference()}},
	}
}

func sampleDevice() *fhir.Device {
	return &fhir.Device{
		Common: sampleCommon(), Status: "active", Manufacturer: "m", DeviceName: []fhir.DeviceName{{Name: "n", Kind: "other"}},
		Kind: sampleConcept(), Version: []fhir.DeviceVersion{{Value: "1.0"}},
	}
}

func sampleOutcome() *fhir.OperationOutcome {
	common := sampleCommon()
	common.Identifier = nil
	issue := fhir.OutcomeIssue{Severity: "warning", Code: "value", Details: sampleConcept(), Diagnostics: `found "1.5"`, Expression: []string{"Bundle.entry[3].resource"}}
	return &fhir.OperationOutcome{Common: common, Issue: []fhir.OutcomeIssue{issue}}
}

func sampleDetectedIssue() *fhir.DetectedIssue {
	return &fhir.DetectedIssue{
		Common: sampleCommon(), Status: "final", Code: sampleConcept(), Severity: "high", Patient: sampleReference(),
		Identified: fhir.DateTime("2026-10-05"), Author: sampleReference(), Implicated: []fhir.Reference{*sampleReference()},
		Evidence:   []fhir.IssueEvidence{{Code: []fhir.CodeableConcept{*sampleConcept()}, Detail: []fhir.Reference{*sampleReference()}}},
		Detail:     "d",
		Mitigation: []fhir.IssueMitigation{{Action: *sampleConcept(), Date: "2026-10-06", Author: sampleReference()}},
	}
}

func sampleResponse() *fhir.QuestionnaireResponse {
	common := sampleCommon()
	common.Identifier = nil
	return &fhir.QuestionnaireResponse{
		Common: common, Identifier: &fhir.Identifier{System: "urn:a:ids", Value: "1"}, Questionnaire: "urn:a:questions|1", Status: "completed",
		Subject: sampleReference(), Encounter: sampleReference(), Authored: "2026-10-05T09:00:00Z", Author: sampleReference(),
		Item: []fhir.ResponseItem{{LinkID: "1", Text: "t", Answer: []fhir.ResponseAnswer{
			{Value: fhir.Decimal("2.50")},
			{Value: &fhir.Coding{Code: "c"}, Item: []fhir.ResponseItem{{LinkID: "1.1", Item: []fhir.ResponseItem{{LinkID: "1.1.1"}}}}},
		}}},
	}
}

func sampleBundle() *fhir.Bundle {
	return &fhir.Bundle{
		ID: "b", Meta: &fhir.Meta{Source: "urn:a"}, BundleType: "transaction", Timestamp: "2026-10-05T09:00:00Z", Total: 2,
		Link: []fhir.Link{{Relation: "next", URL: "urn:a:page"}},
		Entry: []fhir.Entry{
			{FullURL: "urn:uuid:1", Resource: sampleObservation(), Search: &fhir.Search{Mode: "match"}, Response: &fhir.Response{Status: "201 Created", Location: "Observation/1"}, Request: &fhir.Request{Method: "POST", URL: "Observation", IfMatch: `W/"1"`, IfNoneExist: "identifier=urn:a|1"}},
			{Resource: &fhir.Bundle{BundleType: "collection"}},
		},
	}
}

func sampleParameters() *fhir.Parameters {
	return &fhir.Parameters{ID: "p", Parameter: []fhir.Parameter{
		{Name: "asOf", Value: fhir.Date("2026-10-05")},
		{Name: "bundle", Resource: sampleBundle()},
		{Name: "group", Part: []fhir.Parameter{{Name: "part", Value: fhir.Canonical("urn:a|1")}, {Name: "none"}}},
	}}
}
