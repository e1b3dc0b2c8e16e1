package fhirproto_test

import (
	"fmt"

	"evenreach.example/internal/fhir"
	"pgregory.net/rapid"
)

// The generators make any resource that FHIR allows, within what both
// encodings hold: fractions of a second have no, three or six digits, because
// the protocol buffers know milliseconds and microseconds only, and lie in the
// years in which the google library counts them.

// draw makes parts of a resource.
type draw struct{ *rapid.T }

func generate[T any](build func(draw) T) *rapid.Generator[T] {
	return rapid.Custom(func(t *rapid.T) T { return build(draw{t}) })
}

// maybe makes a part or leaves it out.
func maybe[T any](d draw, build func() T) (t T) {
	if d.flag() {
		return build()
	}
	return t
}

// some makes up to two parts.
func some[T any](d draw, build func() T) (list []T) {
	for range rapid.IntRange(0, 2).Draw(d.T, "length") {
		list = append(list, build())
	}
	return list
}

func ptr[T any](build func() T) func() *T {
	return func() *T {
		t := build()
		return &t
	}
}

func (d draw) flag() bool                { return rapid.Bool().Draw(d.T, "flag") }
func (d draw) of(texts ...string) string { return rapid.SampledFrom(texts).Draw(d.T, "one of") }

func (d draw) text() string {
	runes := rapid.SampledFrom([]rune("abcXYZ019 \t\r\n\"\\/<>&'{}é°–😀\u2028\u007f"))
	return rapid.StringOfN(runes, 1, 12, -1).Draw(d.T, "text")
}

func (d draw) id() string { return rapid.StringMatching(`[A-Za-z0-9.-]{1,64}`).Draw(d.T, "id") }
func (d draw) code() string {
	return rapid.StringMatching(`[a-z<>=é]{1,5}( [a-zA-Z%/-]{1,5})?`).Draw(d.T, "code")
}

func (d draw) uri() string {
	return d.of("https://record.example/", "urn:oid:1.2.", "http://snomed.info/sct?", "urn:uuid:", "local#") +
		rapid.StringMatching(`[A-Za-z0-9.-]{1,20}`).Draw(d.T, "uri")
}

func (d draw) decimal() fhir.Decimal {
	return fhir.Decimal(rapid.StringMatching(`-?(0|[1-9][0-9]{0,7})(\.[0-9]{1,8})?([eE][+-]?[0-9])?`).Draw(d.T, "decimal"))
}

func (d draw) integer() int32 { return rapid.Int32().Draw(d.T, "integer") }

func (d draw) date() string {
	date := fmt.Sprintf("%04d", rapid.SampledFrom([]int{1, 999, 1583, 1969, 1970, 2000, 2024, 2026, 9999}).Draw(d.T, "year"))
	return date + d.of("", "-01", "-12", "-02-28", "-06-30", "-12-31")
}

func (d draw) dateTime() string {
	if d.flag() {
		return d.date()
	}
	return d.instant()
}

func (d draw) instant() string {
	return d.of("1969-12-31", "1970-01-01", "2000-02-29", "2026-10-05", "1700-01-02", "2199-12-31") +
		d.of("T00:00:00", "T09:30:59", "T23:59:59") + d.of("", ".000", ".125", ".000001", ".999999") +
		d.of("Z", "+00:00", "+02:00", "-05:30", "+14:00", "-13:59")
}

// reference makes a reference to one of the types, which the element allows.
func (d draw) reference(types ...string) fhir.Reference {
	var r fhir.Reference
	switch d.of("relative", "version", "fragment", "uri", "none") {
	case "relative":
		r.Reference = d.of(types...) + "/" + d.id()
	case "version":
		r.Reference = d.of(types...) + "/" + d.id() + "/_history/" + d.id()
	case "fragment":
		r.Reference = "#" + d.id()
	case "uri":
		r.Reference = d.uri()
	}
	r.TypeName = maybe(d, func() string { return d.of(types...) })
	r.Identifier = maybe(d, ptr(d.identifier))
	r.Display = d.text()
	return r
}

func (d draw) referenceTo(types ...string) func() fhir.Reference {
	return func() fhir.Reference { return d.reference(types...) }
}

func (d draw) identifier() fhir.Identifier {
	return fhir.Identifier{System: maybe(d, d.uri), Value: d.text()}
}

func (d draw) coding() fhir.Coding {
	return fhir.Coding{System: maybe(d, d.uri), Version: maybe(d, d.text), Code: d.code(), Display: maybe(d, d.text)}
}

func (d draw) concept() fhir.CodeableConcept {
	return fhir.CodeableConcept{
		Extension: some(d, func() fhir.Extension { return d.extension(1) }),
		Coding:    some(d, d.coding),
		Text:      d.text(),
	}
}

func (d draw) quantity() fhir.Quantity {
	q := d.simpleQuantity()
	q.Comparator = d.of("", "<", "<=", ">=", ">")
	return q
}

func (d draw) simpleQuantity() fhir.Quantity {
	return fhir.Quantity{Value: d.decimal(), Unit: maybe(d, d.text), System: maybe(d, d.uri), Code: maybe(d, d.code)}
}

func (d draw) period() fhir.Period {
	return fhir.Period{Start: d.dateTime(), End: maybe(d, d.dateTime)}
}

func (d draw) note() fhir.Annotation { return fhir.Annotation{Text: d.text()} }

// extension makes an extension with a value, or with extensions down to depth.
func (d draw) extension(depth int) fhir.Extension {
	e := fhir.Extension{URL: d.uri()}
	if depth > 0 && d.flag() {
		e.Extension = append(some(d, func() fhir.Extension { return d.extension(depth - 1) }), d.extension(0))
		return e
	}
	e.Value = d.value("Quantity", "CodeableConcept", "Coding", "Reference", "Period", "String", "Code", "Uri",
		"Canonical", "DateTime", "Date", "Instant", "Integer", "Boolean")
	return e
}

// value makes a value of one of the types.
func (d draw) value(types ...string) fhir.Value {
	switch d.of(types...) {
	case "Quantity":
		return ptr(d.quantity)()
	case "CodeableConcept":
		return &fhir.CodeableConcept{Text: d.text(), Coding: some(d, d.coding)}
	case "Coding":
		return ptr(d.coding)()
	case "Reference":
		return ptr(d.referenceTo("Patient", "Library", "MedicinalProduct"))()
	case "Period":
		return ptr(d.period)()
	case "String":
		return fhir.String(d.text())
	case "Code":
		return fhir.Code(d.code())
	case "Uri":
		return fhir.URI(d.uri())
	case "Canonical":
		return fhir.Canonical(d.uri())
	case "DateTime":
		return fhir.DateTime(d.dateTime())
	case "Date":
		return fhir.Date(d.date())
	case "Instant":
		return fhir.Instant(d.instant())
	case "Integer":
		return fhir.Integer(d.integer())
	case "Decimal":
		return d.decimal()
	case "Boolean":
		return fhir.Boolean(d.flag())
	}
	return nil
}

func (d draw) meta() fhir.Meta {
	return fhir.Meta{
		VersionID: d.id(), LastUpdated: maybe(d, d.instant), Source: maybe(d, d.uri), Profile: some(d, d.uri),
		Tag: some(d, d.coding),
	}
}

func (d draw) narrative() fhir.Narrative {
	return fhir.Narrative{
		Status: d.of("generated", "extensions", "additional", "empty"),
		Div:    `<div xmlns="http://www.w3.org/1999/xhtml">` + d.text() + `</div>`,
	}
}

func (d draw) common() fhir.Common {
	return fhir.Common{
		ID:                maybe(d, d.id),
		Meta:              maybe(d, ptr(d.meta)),
		Language:          maybe(d, d.code),
		ImplicitRules:     maybe(d, d.uri),
		Text:              maybe(d, ptr(d.narrative)),
		Contained:         some(d, func() fhir.Resource { return &fhir.Patient{Common: fhir.Common{ID: d.id()}, BirthDate: d.date()} }),
		Extension:         some(d, func() fhir.Extension { return d.extension(2) }),
		ModifierExtension: some(d, func() fhir.Extension { return d.extension(0) }),
		Identifier:        some(d, d.identifier),
	}
}

var people = []string{"Practitioner", "PractitionerRole", "Organization", "Patient"}

func (d draw) observation() fhir.Resource {
	return &fhir.Observation{
		Common:           d.common(),
		Status:           d.of("registered", "preliminary", "final", "amended", "corrected", "cancelled", "entered-in-error", "unknown"),
		Category:         some(d, d.concept),
		Code:             d.concept(),
		Subject:          maybe(d, ptr(d.referenceTo("Patient", "Group", "Device", "Location"))),
		Focus:            some(d, d.referenceTo("Observation", "RelatedPerson", "BodyStructure")),
		Encounter:        maybe(d, ptr(d.referenceTo("Encounter"))),
		Effective:        d.value("", "DateTime", "Instant", "Period"),
		Issued:           maybe(d, d.instant),
		Performer:        some(d, d.referenceTo(people...)),
		Value:            d.value("", "Quantity", "CodeableConcept", "String", "Boolean", "Integer", "DateTime", "Period"),
		DataAbsentReason: maybe(d, ptr(d.concept)),
		Interpretation:   some(d, d.concept),
		Note:             some(d, d.note),
		BodySite:         maybe(d, ptr(d.concept)),
		Method:           maybe(d, ptr(d.concept)),
		Device:           maybe(d, ptr(d.referenceTo("Device", "DeviceMetric"))),
		ReferenceRange:   some(d, d.referenceRange),
		HasMember:        some(d, d.referenceTo("Observation", "QuestionnaireResponse", "MolecularSequence")),
		DerivedFrom:      some(d, d.referenceTo("Observation", "Media", "ImagingStudy", "DocumentReference")),
		Component:        some(d, d.component),
	}
}

func (d draw) component() fhir.Component {
	return fhir.Component{
		ModifierExtension: some(d, func() fhir.Extension { return d.extension(0) }),
		Code:              d.concept(),
		Value:             d.value("", "Quantity", "CodeableConcept", "String", "Boolean", "Integer", "DateTime", "Period"),
		DataAbsentReason:  maybe(d, ptr(d.concept)),
		Interpretation:    some(d, d.concept),
		ReferenceRange:    some(d, d.referenceRange),
	}
}

func (d draw) referenceRange() fhir.ReferenceRange {
	return fhir.ReferenceRange{
		Low:  maybe(d, ptr(d.simpleQuantity)),
		High: maybe(d, ptr(d.simpleQuantity)),
		Kind: maybe(d, ptr(d.concept)),
		Text: d.text(),
	}
}

func (d draw) patient() fhir.Resource {
	return &fhir.Patient{Common: d.common(), Name: some(d, d.name), BirthDate: maybe(d, d.date)}
}

func (d draw) condition() fhir.Resource {
	return &fhir.Condition{
		Common:             d.common(),
		ClinicalStatus:     maybe(d, ptr(d.concept)),
		VerificationStatus: maybe(d, ptr(d.concept)),
		Code:               maybe(d, ptr(d.concept)),
		BodySite:           some(d, d.concept),
		Subject:            ptr(d.referenceTo("Patient", "Group"))(),
		Onset:              d.value("", "DateTime", "Period", "String"),
	}
}

func (d draw) procedure() fhir.Resource {
	return &fhir.Procedure{
		Common:    d.common(),
		Status:    d.of("preparation", "in-progress", "not-done", "on-hold", "stopped", "completed", "entered-in-error", "unknown"),
		Code:      maybe(d, ptr(d.concept)),
		Subject:   ptr(d.referenceTo("Patient", "Group"))(),
		Performed: d.value("", "DateTime", "Period", "String"),
		BodySite:  some(d, d.concept),
	}
}

func (d draw) encounter() fhir.Resource {
	return &fhir.Encounter{
		Common:  d.common(),
		Status:  d.of("planned", "arrived", "triaged", "in-progress", "onleave", "finished", "cancelled", "entered-in-error", "unknown"),
		Class:   d.coding(),
		Subject: maybe(d, ptr(d.referenceTo("Patient", "Group"))),
		Period:  maybe(d, ptr(d.period)),
	}
}

func (d draw) goal() fhir.Resource {
	return &fhir.Goal{
		Common:            d.common(),
		LifecycleStatus:   d.of("proposed", "planned", "accepted", "active", "on-hold", "completed", "cancelled", "entered-in-error", "rejected"),
		AchievementStatus: maybe(d, ptr(d.concept)),
		Category:          some(d, d.concept),
		Description:       d.concept(),
		Subject:           ptr(d.referenceTo("Patient", "Group", "Organization"))(),
		StartDate:         maybe(d, d.date),
		Target:            some(d, d.target),
		Addresses:         some(d, d.referenceTo("Condition", "Observation", "NutritionOrder", "RiskAssessment")),
		Priority:          maybe(d, ptr(d.concept)),
		StatusDate:        maybe(d, d.date),
		StatusReason:      maybe(d, d.text),
		ExpressedBy:       maybe(d, ptr(d.referenceTo("Patient", "Practitioner", "RelatedPerson"))),
		Note:              some(d, d.note),
		OutcomeCode:       some(d, d.concept),
		OutcomeReference:  some(d, d.referenceTo("Observation")),
	}
}

func (d draw) target() fhir.Target {
	c := d.concept()
	return fhir.Target{
		Measure: &c,
		Detail:  d.value("", "Quantity", "CodeableConcept", "String", "Boolean", "Integer"),
		DueDate: maybe(d, d.date),
	}
}

func (d draw) carePlan() fhir.Resource {
	return &fhir.CarePlan{
		Common:                d.common(),
		InstantiatesCanonical: some(d, d.uri),
		InstantiatesUri:       some(d, d.uri),
		BasedOn:               some(d, d.referenceTo("CarePlan")),
		Replaces:              some(d, d.referenceTo("CarePlan")),
		PartOf:                some(d, d.referenceTo("CarePlan")),
		Contributor:           some(d, d.referenceTo("Practitioner", "Device")),
		CareTeam:              some(d, d.referenceTo("CareTeam")),
		Status:                d.of("draft", "active", "on-hold", "revoked", "completed", "entered-in-error", "unknown"),
		Intent:                d.of("proposal", "plan", "order", "option"),
		Category:              some(d, d.concept),
		Title:                 maybe(d, d.text),
		Description:           maybe(d, d.text),
		Subject:               ptr(d.referenceTo("Patient", "Group"))(),
		Encounter:             maybe(d, ptr(d.referenceTo("Encounter"))),
		Period:                maybe(d, ptr(d.period)),
		Created:               maybe(d, d.dateTime),
		Author:                maybe(d, ptr(d.referenceTo("Patient", "Practitioner", "Device", "CareTeam"))),
		Addresses:             some(d, d.referenceTo("Condition")),
		SupportingInfo:        some(d, d.referenceTo("Observation", "ValueSet")),
		Goal:                  some(d, d.referenceTo("Goal")),
		Activity:              some(d, d.activity),
		Note:                  some(d, d.note),
	}
}

func (d draw) activity() fhir.Activity {
	a := &fhir.ActivityDetail{
		Kind: d.of("", "Appointment", "CommunicationRequest", "DeviceRequest", "MedicationRequest", "NutritionOrder",
			"Task", "ServiceRequest", "VisionPrescription"),
		InstantiatesCanonical: some(d, d.uri),
		Code:                  maybe(d, ptr(d.concept)),
		ReasonCode:            some(d, d.concept),
		ReasonReference:       some(d, d.referenceTo("Condition", "Observation", "DiagnosticReport", "DocumentReference")),
		Goal:                  some(d, d.referenceTo("Goal")),
		Status: d.of("not-started", "scheduled", "in-progress", "on-hold", "completed", "cancelled", "stopped",
			"unknown", "entered-in-error"),
		StatusReason: maybe(d, ptr(d.concept)),
		DoNotPerform: d.flag(),
		Description:  maybe(d, d.text),
	}
	if d.flag() {
		a.ScheduledPeriod = ptr(d.period)()
	} else {
		a.ScheduledString = maybe(d, d.text)
	}
	return fhir.Activity{Detail: a}
}

func (d draw) diagnosticReport() fhir.Resource {
	return &fhir.DiagnosticReport{
		Common: d.common(),
		Status: d.of("registered", "partial", "preliminary", "final", "amended", "corrected", "appended", "cancelled",
			"entered-in-error", "unknown"),
		Category:       some(d, d.concept),
		Code:           d.concept(),
		Subject:        maybe(d, ptr(d.referenceTo("Patient", "Group", "Device", "Location"))),
		Encounter:      maybe(d, ptr(d.referenceTo("Encounter"))),
		Effective:      d.value("", "DateTime", "Period"),
		Issued:         maybe(d, d.instant),
		Performer:      some(d, d.referenceTo("Practitioner", "Organization", "CareTeam")),
		Result:         some(d, d.referenceTo("Observation")),
		Conclusion:     maybe(d, d.text),
		ConclusionCode: some(d, d.concept),
		PresentedForm:  some(d, d.attachment),
	}
}

func (d draw) attachment() fhir.Attachment {
	return fhir.Attachment{
		ContentType: d.of("application/pdf", "image/svg+xml", "text/plain; charset=utf-8"),
		Language:    maybe(d, d.code),
		Data:        rapid.SliceOfN(rapid.Byte(), 1, 20).Draw(d.T, "data"),
		Title:       maybe(d, d.text),
		Creation:    maybe(d, d.dateTime),
	}
}

func (d draw) provenance() fhir.Resource {
	p := &fhir.Provenance{
		Common:   d.common(),
		Target:   append(some(d, d.referenceTo("Observation")), d.reference("CarePlan", "Bundle")),
		Occurred: d.value("", "DateTime", "Period"),
		Recorded: d.instant(),
		Policy:   some(d, d.uri),
		Activity: maybe(d, ptr(d.concept)),
		Agent:    []fhir.Agent{{Kind: maybe(d, ptr(d.concept)), Who: d.reference(append(people, "Device")...)}},
		Entity: some(d, func() fhir.ProvenanceEntity {
			return fhir.ProvenanceEntity{
				Role: d.of("derivation", "revision", "quotation", "source", "removal"),
				What: d.reference("Observation", "PlanDefinition"),
			}
		}),
	}
	p.Identifier = nil
	return p
}

func (d draw) device() fhir.Resource {
	return &fhir.Device{
		Common:       d.common(),
		Status:       d.of("", "active", "inactive", "entered-in-error", "unknown"),
		Manufacturer: maybe(d, d.text),
		DeviceName: some(d, func() fhir.DeviceName {
			return fhir.DeviceName{Name: d.text(), Kind: d.of("udi-label-name", "user-friendly-name", "patient-reported-name",
				"manufacturer-name", "model-name", "other")}
		}),
		Kind:    maybe(d, ptr(d.concept)),
		Version: some(d, func() fhir.DeviceVersion { return fhir.DeviceVersion{Value: d.text()} }),
	}
}

func (d draw) operationOutcome() fhir.Resource {
	o := &fhir.OperationOutcome{Common: d.common()}
	o.Identifier = nil
	for range rapid.IntRange(1, 3).Draw(d.T, "issues") {
		o.Issue = append(o.Issue, fhir.OutcomeIssue{
			Severity:    d.of("fatal", "error", "warning", "information"),
			Code:        d.of("invalid", "required", "not-supported", "code-invalid", "business-rule", "no-store", "informational"),
			Details:     maybe(d, ptr(d.concept)),
			Diagnostics: maybe(d, d.text),
			Expression:  some(d, d.text),
		})
	}
	return o
}

func (d draw) detectedIssue() fhir.Resource {
	return &fhir.DetectedIssue{
		Common:     d.common(),
		Status:     d.of("registered", "preliminary", "final", "amended", "corrected", "cancelled", "entered-in-error", "unknown"),
		Code:       maybe(d, ptr(d.concept)),
		Severity:   d.of("", "high", "moderate", "low"),
		Patient:    maybe(d, ptr(d.referenceTo("Patient"))),
		Identified: d.value("", "DateTime", "Period"),
		Author:     maybe(d, ptr(d.referenceTo("Practitioner", "PractitionerRole", "Device"))),
		Implicated: some(d, d.referenceTo("Observation", "Goal")),
		Evidence: some(d, func() fhir.IssueEvidence {
			return fhir.IssueEvidence{Code: append(some(d, d.concept), d.concept()), Detail: some(d, d.referenceTo("Observation"))}
		}),
		Detail: maybe(d, d.text),
		Mitigation: some(d, func() fhir.IssueMitigation {
			return fhir.IssueMitigation{Action: d.concept(), Date: maybe(d, d.dateTime), Author: maybe(d, ptr(d.referenceTo("Practitioner")))}
		}),
	}
}

func (d draw) response() fhir.Resource {
	r := &fhir.QuestionnaireResponse{
		Common:        d.common(),
		Identifier:    maybe(d, ptr(d.identifier)),
		Questionnaire: maybe(d, d.uri),
		Status:        d.of("in-progress", "completed", "amended", "entered-in-error", "stopped"),
		Subject:       maybe(d, ptr(d.referenceTo("Patient"))),
		Encounter:     maybe(d, ptr(d.referenceTo("Encounter"))),
		Authored:      maybe(d, d.dateTime),
		Author:        maybe(d, ptr(d.referenceTo(people...))),
		Item:          some(d, func() fhir.ResponseItem { return d.item(2) }),
	}
	r.Common.Identifier = nil
	return r
}

// item makes an item with items down to depth, beside or within its answers.
func (d draw) item(depth int) fhir.ResponseItem {
	item := fhir.ResponseItem{LinkID: d.text(), Text: maybe(d, d.text)}
	if depth == 0 {
		return item
	}
	inner := func() fhir.ResponseItem { return d.item(depth - 1) }
	if d.flag() {
		item.Item = some(d, inner)
		return item
	}
	item.Answer = some(d, func() fhir.ResponseAnswer {
		return fhir.ResponseAnswer{
			Value: d.value("Boolean", "Decimal", "Integer", "Date", "DateTime", "String", "Uri", "Coding", "Quantity", "Reference"),
			Item:  some(d, inner),
		}
	})
	return item
}

// resources makes resources of every type that the wire model has.
func resources() *rapid.Generator[fhir.Resource] {
	return rapid.OneOf(generate(draw.observation), generate(draw.patient), generate(draw.condition),
		generate(draw.procedure), generate(draw.encounter), generate(draw.goal), generate(draw.carePlan),
		generate(draw.diagnosticReport), generate(draw.provenance), generate(draw.device),
		generate(draw.operationOutcome), generate(draw.detectedIssue), generate(draw.response))
}

// bundles makes Bundles of such resources.
func bundles() *rapid.Generator[*fhir.Bundle] {
	return generate(func(d draw) *fhir.Bundle {
		return &fhir.Bundle{
			ID:   maybe(d, d.id),
			Meta: maybe(d, ptr(d.meta)),
			BundleType: d.of("document", "message", "transaction", "transaction-response", "batch", "batch-response",
				"history", "searchset", "collection"),
			Timestamp: maybe(d, d.instant),
			Total:     rapid.Uint32Range(0, 20_000).Draw(d.T, "total"),
			Link:      some(d, func() fhir.Link { return fhir.Link{Relation: d.text(), URL: d.uri()} }),
			Entry: some(d, func() fhir.Entry {
				return fhir.Entry{
					FullURL:  maybe(d, d.uri),
					Resource: resources().Draw(d.T, "resource"),
					Search:   maybe(d, func() *fhir.Search { return &fhir.Search{Mode: d.of("match", "include", "outcome")} }),
					Request:  maybe(d, ptr(d.request)),
					Response: maybe(d, func() *fhir.Response { return &fhir.Response{Status: d.text(), Location: d.uri()} }),
				}
			}),
		}
	})
}

func (d draw) name() fhir.HumanName {
	return fhir.HumanName{Text: d.text(), Family: maybe(d, d.text), Given: some(d, d.text)}
}

func (d draw) request() fhir.Request {
	return fhir.Request{
		Method: d.of("GET", "HEAD", "POST", "PUT", "DELETE", "PATCH"), URL: d.uri(), IfMatch: maybe(d, d.text), IfNoneExist: maybe(d, d.text),
	}
}
