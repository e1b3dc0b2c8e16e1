package fhirproto_test

import (
	"slices"

	"evenreach.example/internal/fhir"
)

// The samples hold every element of the wire model at least once, so that an
// element that a conversion forgets is missed. All data is invented.

func concept(system, code, text string) fhir.CodeableConcept {
	return fhir.CodeableConcept{Coding: []fhir.Coding{{System: system, Code: code}}, Text: text}
}

func words(text string) fhir.CodeableConcept { return fhir.CodeableConcept{Text: text} }

func conceptRef(system, code, text string) *fhir.CodeableConcept {
	c := concept(system, code, text)
	return &c
}

func to(reference string) *fhir.Reference { return &fhir.Reference{Reference: reference} }

func fullConcept() fhir.CodeableConcept {
	return fhir.CodeableConcept{
		Extension: []fhir.Extension{{URL: "https://record.example/laterality", Value: fhir.Code("right")}},
		Coding: []fhir.Coding{
			{System: "http://snomed.info/sct", Version: "http://snomed.info/sct/900000000000207008", Code: "91774008", Display: "Right shoulder"},
			{System: "https://record.example/codes", Code: "shoulder R"},
		},
		Text: "right “shoulder” <R> & more\n\tline two \\",
	}
}

func fullQuantity() *fhir.Quantity {
	return &fhir.Quantity{Value: "21.50", Comparator: "<=", Unit: "N", System: "http://unitsofmeasure.org", Code: "N"}
}

func fullReference() *fhir.Reference {
	return &fhir.Reference{
		Reference:  "Patient/p1",
		TypeName:   "Patient",
		Identifier: &fhir.Identifier{System: "https://record.example/patients", Value: "invented-1"},
		Display:    "Invented Patient",
	}
}

func fullPeriod() *fhir.Period {
	return &fhir.Period{Start: "2026-10-05T09:30:00+02:00", End: "2026-10"}
}

// fullExtensions hold every type of value that the wire model has.
func fullExtensions() []fhir.Extension {
	c := fullConcept()
	values := []fhir.Value{
		fullQuantity(), &c, &fhir.Coding{System: "https://record.example", Code: "c", Display: "d", Version: "1"},
		fullReference(), fullPeriod(), fhir.String("a text"), fhir.Code("a code"), fhir.URI("urn:oid:1.2.3"),
		fhir.Canonical("https://record.example/canonical|1.0"), fhir.DateTime("2026-10-05T09:30:00.125-05:30"),
		fhir.Date("2026-02-28"), fhir.Instant("2026-10-05T09:30:00.000001Z"), fhir.Integer(-2147483648),
		fhir.Integer(0), fhir.Boolean(false), fhir.Boolean(true),
	}
	nested := fhir.Extension{URL: "https://record.example/nested"}
	for _, v := range values {
		nested.Extension = append(nested.Extension, fhir.Extension{URL: "value", Value: v})
	}
	return []fhir.Extension{nested, {URL: "https://record.example/flat", Value: fhir.Boolean(true)}}
}

func fullMeta() *fhir.Meta {
	return &fhir.Meta{
		VersionID:   "3",
		LastUpdated: "2026-10-05T09:30:00.000Z",
		Source:      "urn:uuid:7f1c2b34-0000-4000-8000-000000000001",
		Profile:     []string{"https://record.example/profile|2", "https://record.example/other"},
		Tag:         []fhir.Coding{{System: "https://record.example/tags", Code: "demo"}},
	}
}

func fullCommon(id string) fhir.Common {
	return fhir.Common{
		ID:                id,
		Meta:              fullMeta(),
		Language:          "en-GB",
		ImplicitRules:     "https://record.example/rules",
		Text:              &fhir.Narrative{Status: "generated", Div: `<div xmlns="http://www.w3.org/1999/xhtml">Invented &amp; short</div>`},
		Contained:         []fhir.Resource{&fhir.Patient{Common: fhir.Common{ID: "inner"}, BirthDate: "1971-04"}},
		Extension:         fullExtensions(),
		ModifierExtension: []fhir.Extension{{URL: "https://record.example/modifier", Value: fhir.String("m")}},
		Identifier:        []fhir.Identifier{{System: "https://record.example/ids", Value: id}, {Value: "bare"}},
	}
}

// commonWithoutIdentifier is for the types that R4 gives no identifier.
func commonWithoutIdentifier(id string) fhir.Common {
	c := fullCommon(id)
	c.Identifier = nil
	return c
}

func fullObservation() *fhir.Observation {
	c := fullConcept()
	return &fhir.Observation{
		Common:           fullCommon("o1"),
		Status:           "final",
		Category:         []fhir.CodeableConcept{fullConcept(), words("text only")},
		Code:             fullConcept(),
		Subject:          fullReference(),
		Encounter:        to("Encounter/e1"),
		Effective:        fhir.DateTime("2026-10-05T09:30:00+02:00"),
		Issued:           "2026-10-05T10:00:00.250+02:00",
		Performer:        []fhir.Reference{*to("Practitioner/t1"), *to("#inner"), *to("PractitionerRole/r1/_history/4")},
		Value:            fullQuantity(),
		DataAbsentReason: conceptRef("http://terminology.hl7.org/CodeSystem/data-absent-reason", "unknown", ""),
		Interpretation:   []fhir.CodeableConcept{concept("http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation", "L", "")},
		Note:             []fhir.Annotation{{Text: "first"}, {Text: "second"}},
		BodySite:         &c,
		Method:           conceptRef("https://record.example/methods", "handheld", ""),
		Device:           to("Device/d1"),
		ReferenceRange: []fhir.ReferenceRange{{
			Low:  &fhir.Quantity{Value: "90", Unit: "%", System: "http://unitsofmeasure.org", Code: "%"},
			High: &fhir.Quantity{Value: "1.10e2", Code: "%"},
			Kind: conceptRef("http://terminology.hl7.org/CodeSystem/referencerange-meaning", "recommended", ""),
			Text: "90 to 110 %",
		}},
		HasMember:   []fhir.Reference{*to("Observation/m1"), *to("urn:uuid:7f1c2b34-0000-4000-8000-000000000002")},
		DerivedFrom: []fhir.Reference{*to("https://record.example/fhir/Observation/trial-1")},
		Focus:       []fhir.Reference{*to("Observation/trial-1"), *to("RelatedPerson/r1")},
		Component: []fhir.Component{
			{
				ModifierExtension: []fhir.Extension{{URL: "https://record.example/modifier", Value: fhir.Integer(7)}},
				Code:              concept("https://record.example/codes", "interval-low", ""),
				Value:             fullQuantity(),
				DataAbsentReason:  &fhir.CodeableConcept{Text: "none"},
				Interpretation:    []fhir.CodeableConcept{words("low")},
				ReferenceRange:    []fhir.ReferenceRange{{Text: "any"}},
			},
			{Code: words("concept"), Value: &c},
			{Code: words("string"), Value: fhir.String("text")},
			{Code: words("boolean"), Value: fhir.Boolean(false)},
			{Code: words("integer"), Value: fhir.Integer(-3)},
			{Code: words("dateTime"), Value: fhir.DateTime("2026")},
			{Code: words("period"), Value: fullPeriod()},
		},
	}
}

// observationsByValue hold every type of value and of effective time.
func observationsByValue() []fhir.Resource {
	c := fullConcept()
	var all []fhir.Resource
	for _, v := range []fhir.Value{
		&c, fhir.String("text"), fhir.Boolean(true), fhir.Boolean(false), fhir.Integer(10), fhir.Integer(0),
		fhir.DateTime("2026-10-05"), fullPeriod(),
	} {
		all = append(all, &fhir.Observation{Status: "preliminary", Code: fullConcept(), Value: v})
	}
	for _, when := range []fhir.Value{fhir.Instant("2026-10-05T09:30:00Z"), fullPeriod(), fhir.DateTime("2026-10")} {
		all = append(all, &fhir.Observation{Status: "amended", Code: fullConcept(), Effective: when})
	}
	return all
}

func fullCondition(onset fhir.Value) *fhir.Condition {
	return &fhir.Condition{
		Common:             fullCommon("c1"),
		ClinicalStatus:     conceptRef("http://terminology.hl7.org/CodeSystem/condition-clinical", "active", ""),
		VerificationStatus: conceptRef("http://terminology.hl7.org/CodeSystem/condition-ver-status", "confirmed", ""),
		Code:               conceptRef("http://snomed.info/sct", "202843000", "tear"),
		BodySite:           []fhir.CodeableConcept{fullConcept()},
		Subject:            fullReference(),
		Onset:              onset,
	}
}

func fullProcedure(performed fhir.Value) *fhir.Procedure {
	return &fhir.Procedure{
		Common:    fullCommon("q1"),
		Status:    "completed",
		Code:      conceptRef("http://snomed.info/sct", "61774002", "repair"),
		Subject:   fullReference(),
		Performed: performed,
		BodySite:  []fhir.CodeableConcept{fullConcept()},
	}
}

func fullGoal() *fhir.Goal {
	c := fullConcept()
	return &fhir.Goal{
		Common:            fullCommon("g1"),
		LifecycleStatus:   "active",
		AchievementStatus: conceptRef("http://terminology.hl7.org/CodeSystem/goal-achievement", "in-progress", ""),
		Category:          []fhir.CodeableConcept{concept("http://terminology.hl7.org/CodeSystem/goal-category", "physiotherapy", "")},
		Description:       fullConcept(),
		Subject:           fullReference(),
		StartDate:         "2026-10-05",
		Target: []fhir.Target{
			{Measure: &c, Detail: fullQuantity(), DueDate: "2026-12-31"},
			{Measure: &c, Detail: &c},
			{Measure: &c, Detail: fhir.String("even")},
			{Measure: &c, Detail: fhir.Boolean(false)},
			{Measure: &c, Detail: fhir.Integer(90), DueDate: "2027"},
		},
		Priority:         &c,
		StatusDate:       "2026-10-06",
		StatusReason:     "reason",
		ExpressedBy:      to("Practitioner/t1"),
		Addresses:        []fhir.Reference{*to("Condition/c1")},
		Note:             []fhir.Annotation{{Text: "note"}},
		OutcomeCode:      []fhir.CodeableConcept{fullConcept()},
		OutcomeReference: []fhir.Reference{*to("Observation/o1")},
	}
}

func fullCarePlan() *fhir.CarePlan {
	c := fullConcept()
	return &fhir.CarePlan{
		Common:                fullCommon("cp1"),
		InstantiatesCanonical: []string{"https://record.example/PlanDefinition/p|1.0.0"},
		Replaces:              []fhir.Reference{*to("CarePlan/cp0")},
		Status:                "draft",
		Intent:                "proposal",
		Category:              []fhir.CodeableConcept{fullConcept()},
		Title:                 "Plan",
		Description:           "A plan",
		Subject:               fullReference(),
		Encounter:             to("Encounter/e1"),
		Period:                fullPeriod(),
		Created:               "2026-10-05T09:30:00+02:00",
		Author:                to("Device/d1"),
		Addresses:             []fhir.Reference{*to("Condition/c1")},
		SupportingInfo:        []fhir.Reference{*to("Observation/o1")},
		Goal:                  []fhir.Reference{*to("Goal/g1")},
		InstantiatesUri:       []string{"https://record.example/plan.html"},
		BasedOn:               []fhir.Reference{*to("CarePlan/cp2")},
		PartOf:                []fhir.Reference{*to("CarePlan/cp3")},
		Contributor:           []fhir.Reference{*to("Practitioner/t1")},
		CareTeam:              []fhir.Reference{*to("CareTeam/t1")},
		Activity: []fhir.Activity{
			{
				OutcomeCodeableConcept: []fhir.CodeableConcept{fullConcept()},
				OutcomeReference:       []fhir.Reference{*to("Observation/o1")},
				Progress:               []fhir.Annotation{{Text: "progress"}},
				Reference:              to("ServiceRequest/s1"),
			},
			{Detail: &fhir.ActivityDetail{
				InstantiatesUri:       []string{"https://record.example/activity.html"},
				Location:              to("Location/l1"),
				Performer:             []fhir.Reference{*to("Practitioner/t1")},
				DailyAmount:           &fhir.Quantity{Value: "3.50", Unit: "N", System: "http://unitsofmeasure.org", Code: "N"},
				Quantity:              &fhir.Quantity{Value: "2"},
				Kind:                  "ServiceRequest",
				InstantiatesCanonical: []string{"https://record.example/ActivityDefinition/a"},
				Code:                  &c,
				ReasonCode:            []fhir.CodeableConcept{fullConcept()},
				ReasonReference:       []fhir.Reference{*to("Observation/o1")},
				Goal:                  []fhir.Reference{*to("Goal/g1")},
				Status:                "not-started",
				StatusReason:          &c,
				DoNotPerform:          true,
				ScheduledPeriod:       fullPeriod(),
				Description:           "do not do this",
			}},
			{Detail: &fhir.ActivityDetail{Status: "in-progress", ScheduledString: "three times a week"}},
		},
		Note: []fhir.Annotation{{Author: to("Practitioner/t1"), Time: "2026-10-05T10:00:00Z", Text: "note"}, {Author: fhir.String("A. Invented"), Text: "b"}},
	}
}

// samples are of every type that the wire model has.
func samples() []fhir.Resource {
	all := []fhir.Resource{
		fullObservation(),
		&fhir.Patient{Common: fullCommon("p1"), Name: []fhir.HumanName{{Text: "Invented Patient", Family: "Patient", Given: []string{"Invented", "P."}}}, BirthDate: "1971-04-12"},
		fullCondition(fhir.DateTime("2025-11-03")), fullCondition(fullPeriod()), fullCondition(fhir.String("last autumn")),
		fullProcedure(fhir.DateTime("2026-01-19T08:00:00Z")), fullProcedure(fullPeriod()), fullProcedure(fhir.String("in January")),
		&fhir.Encounter{
			Common: fullCommon("e1"), Status: "finished", Subject: fullReference(), Period: fullPeriod(),
			Class: fhir.Coding{System: "http://terminology.hl7.org/CodeSystem/v3-ActCode", Code: "AMB"},
		},
		fullGoal(),
		fullCarePlan(),
	}
	return slices.Concat(all, observationsByValue(), results())
}

// results are of the types that Evenreach writes besides.
func results() []fhir.Resource {
	report := &fhir.DiagnosticReport{
		Common:             fullCommon("r1"),
		Status:             "final",
		Category:           []fhir.CodeableConcept{concept("http://terminology.hl7.org/CodeSystem/v2-0074", "PT", "")},
		Code:               concept("http://loinc.org", "11508-9", ""),
		Subject:            fullReference(),
		Encounter:          to("Encounter/e1"),
		Effective:          fhir.DateTime("2026-10-05T09:30:00+02:00"),
		Issued:             "2026-10-05T09:30:00.000+02:00",
		Performer:          []fhir.Reference{*to("Organization/org1")},
		ResultsInterpreter: []fhir.Reference{*to("Practitioner/t1")},
		Result:             []fhir.Reference{*to("Observation/o1")},
		Conclusion:         "Invented conclusion.",
		ConclusionCode:     []fhir.CodeableConcept{fullConcept()},
		PresentedForm: []fhir.Attachment{{
			ContentType: "application/pdf", Language: "en", Data: []byte("%PDF\x00\xff"), Title: "Report",
			Creation: "2026-10-05T09:30:00+02:00",
		}},
	}
	overPeriod := *report
	overPeriod.Effective = fullPeriod()
	provenance := &fhir.Provenance{
		Common:   commonWithoutIdentifier("v1"),
		Target:   []fhir.Reference{*to("Observation/o1"), *to("urn:uuid:7f1c2b34-0000-4000-8000-000000000003")},
		Occurred: fhir.DateTime("2026-10-05T09:30:00+02:00"),
		Recorded: "2026-10-05T09:30:01Z",
		Policy:   []string{"https://record.example/policy"},
		Activity: conceptRef("http://terminology.hl7.org/CodeSystem/v3-DataOperation", "CREATE", ""),
		Agent:    []fhir.Agent{{Kind: conceptRef("http://terminology.hl7.org/CodeSystem/provenance-participant-type", "assembler", ""), Who: *to("Device/d1")}},
		Entity:   []fhir.ProvenanceEntity{{Role: "source", What: *to("Observation/trial-1")}, {Role: "derivation", What: *to("https://record.example/protocol|1")}},
	}
	during := *provenance
	during.Occurred = fullPeriod()
	return []fhir.Resource{
		report, &overPeriod, provenance, &during,
		&fhir.Device{
			Common:       fullCommon("d1"),
			Status:       "active",
			Manufacturer: "Invented",
			DeviceName:   []fhir.DeviceName{{Name: "Evenreach", Kind: "model-name"}},
			Kind:         conceptRef("http://snomed.info/sct", "706689003", "software"),
			Version:      []fhir.DeviceVersion{{Value: "1.0.0"}},
		},
		fullOutcome(), fullDetectedIssue(fhir.DateTime("2026-10-05T09:30:00Z")), fullDetectedIssue(fullPeriod()), fullResponse(),
	}
}

func fullDetectedIssue(identified fhir.Value) *fhir.DetectedIssue {
	c := fullConcept()
	return &fhir.DetectedIssue{
		Common:     fullCommon("di1"),
		Status:     "preliminary",
		Code:       &c,
		Severity:   "moderate",
		Patient:    fullReference(),
		Identified: identified,
		Author:     to("Device/d1"),
		Implicated: []fhir.Reference{*to("Observation/o1")},
		Evidence:   []fhir.IssueEvidence{{Code: []fhir.CodeableConcept{fullConcept()}, Detail: []fhir.Reference{*to("Observation/o2")}}},
		Detail:     "Invented: pain kept the test from full force.",
		Mitigation: []fhir.IssueMitigation{{Action: fullConcept(), Date: "2026-10-06", Author: to("Practitioner/t1")}},
	}
}

// fullResponse has every type of answer that is read.
func fullResponse() *fhir.QuestionnaireResponse {
	response := &fhir.QuestionnaireResponse{
		Common:        commonWithoutIdentifier("qr1"),
		Identifier:    &fhir.Identifier{System: "https://record.example/ids", Value: "qr1"},
		Questionnaire: "https://record.example/Questionnaire/shoulder|1",
		Status:        "completed",
		Subject:       fullReference(),
		Encounter:     to("Encounter/e1"),
		Authored:      "2026-10-05T09:30:00+02:00",
		Author:        to("Patient/p1"),
	}
	group := fhir.ResponseItem{LinkID: "1", Text: "Invented questions"}
	for _, answer := range []fhir.Value{
		fhir.Boolean(false), fhir.Decimal("2.50"), fhir.Integer(-3), fhir.Date("2026-10"), fhir.DateTime("2026-10-05T09:30:00Z"),
		fhir.String("text"), fhir.URI("urn:oid:1.2.3"), &fhir.Coding{System: "https://record.example/codes", Code: "a"}, fullQuantity(), to("Patient/p1"),
	} {
		group.Item = append(group.Item, fhir.ResponseItem{LinkID: "1.1", Answer: []fhir.ResponseAnswer{{Value: answer}}})
	}
	group.Item[0].Answer[0].Item = []fhir.ResponseItem{{LinkID: "1.1.1", Text: "nested in an answer"}}
	response.Item = []fhir.ResponseItem{group}
	return response
}

func fullOutcome() *fhir.OperationOutcome {
	return &fhir.OperationOutcome{
		Common: commonWithoutIdentifier("oo1"),
		Issue: []fhir.OutcomeIssue{{
			Severity: "warning", Code: "code-invalid", Details: conceptRef("https://record.example/issues", "unit-unknown", "unit"),
			Diagnostics: "found \"stone\"", Expression: []string{"Bundle.entry[3].resource.valueQuantity.code"},
		}},
	}
}

// bundleOf is a transaction with the resources.
func bundleOf(resources []fhir.Resource) *fhir.Bundle {
	b := &fhir.Bundle{ID: "b1", Meta: fullMeta(), BundleType: "transaction", Timestamp: "2026-10-05T12:00:00.000Z", Total: 12}
	b.Link = []fhir.Link{{Relation: "next", URL: "https://record.example/fhir?page=2"}}
	for _, r := range resources {
		b.Entry = append(b.Entry, fhir.Entry{
			FullURL:  "urn:uuid:7f1c2b34-0000-4000-8000-00000000000f",
			Resource: r,
			Search:   &fhir.Search{Mode: "match"},
			Response: &fhir.Response{Status: "201 Created", Location: "Patient/1/_history/1"},
			Request:  &fhir.Request{Method: "POST", URL: r.Type(), IfMatch: `W/"1"`, IfNoneExist: "identifier=https://record.example/ids|1"},
		})
	}
	return b
}
