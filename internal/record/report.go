package record

import (
	"evenreach.example/internal/fhir"
)

var (
	progressNote = standard(fhir.SystemLOINC, fhir.LOINCPhysicalTherapyProgress, "Physical therapy Progress note")
	therapy      = []fhir.CodeableConcept{hl7(fhir.SystemDiagnosticService, "PT")}
)

// statusUnverifiedReport is the status of the report: R4's partial allows data
// to be unverified; its preliminary speaks of verified results, and its final
// of an authorised person.
//
// Source: FHIR R4 4.0.1, CodeSystem diagnostic-report-status.
const statusUnverifiedReport = "partial"

// idMessages is the id of the OperationOutcome within the report.
const idMessages = "input-issues"

// addReport adds the report with all results. The issues about the input are part of it,
// so that they are stored with it.
func (b *builder) addReport() {
	status := b.a.Readiness.Overall
	r := &fhir.DiagnosticReport{
		Status:         statusUnverifiedReport,
		Category:       therapy,
		Code:           progressNote,
		Subject:        b.subject,
		Encounter:      b.encounter,
		Effective:      fhir.DateTime(b.dateTime(b.a.AsOf)),
		Result:         b.results,
		Conclusion:     b.report.Conclusion(),
		ConclusionCode: []fhir.CodeableConcept{*b.own(status.String(), b.w.Status(b.a.Readiness))},
	}
	r.Language = b.w.Language()
	r.Text = generated(b.report.Narrative())
	b.attachMessages(&r.Common)
	b.add(r, &r.Common, "report")
}

// attachMessages refers to the issues about the input: the entry of a collection, or a
// contained resource, because a server stores no entry of that type.
func (b *builder) attachMessages(common *fhir.Common) {
	messages := b.outcome
	if messages.Reference == "" {
		if len(b.issues) == 0 {
			return
		}
		contained := b.messages()
		contained.ID = idMessages
		common.Contained = []fhir.Resource{contained}
		messages.Reference = "#" + idMessages
	}
	common.Extension = []fhir.Extension{{URL: fhir.ExtensionMessages, Value: &messages}}
}
