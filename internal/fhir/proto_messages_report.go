package fhir

import (
	devpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/device_go_proto"
	drpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/diagnostic_report_go_proto"
	oopb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
	provpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/provenance_go_proto"
)

func (w *messageWriter) diagnosticReport(r *DiagnosticReport) *drpb.DiagnosticReport {
	c := w.common(&r.Common)
	p := &drpb.DiagnosticReport{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier, Identifier: c.identifier,

		Category:       w.conceptList("category", r.Category),
		Code:           w.conceptOf("code", &r.Code),
		Subject:        w.referenceOf("subject", r.Subject),
		Encounter:      w.referenceOf("encounter", r.Encounter),
		Effective:      w.reportEffective(r.Effective),
		Issued:         w.instant("issued", r.Issued),
		Performer:      w.referenceList("performer", r.Performer),
		Result:         w.referenceList("result", r.Result),
		Conclusion:     w.str(r.Conclusion),
		ConclusionCode: w.conceptList("conclusionCode", r.ConclusionCode),
		PresentedForm:  messageChildren(w, "presentedForm", r.PresentedForm, (*messageWriter).attachment),
	}
	if v, ok := messageCode(w, "status", r.Status, reportStatuses); ok {
		p.Status = &drpb.DiagnosticReport_StatusCode{Value: v}
	}
	return p
}

func (w *messageWriter) reportEffective(v Value) *drpb.DiagnosticReport_EffectiveX {
	p := &drpb.DiagnosticReport_EffectiveX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case DateTime:
		p.Choice = &drpb.DiagnosticReport_EffectiveX_DateTime{DateTime: w.dateTime("effectiveDateTime", string(v))}
	case *Period:
		p.Choice = &drpb.DiagnosticReport_EffectiveX_Period{Period: messageChild(w, "effectivePeriod", v, (*messageWriter).period)}
	default:
		w.unwritable("effective")
	}
	return p
}

// provenance writes a Provenance. R4 has no identifier of it.
func (w *messageWriter) provenance(r *Provenance) *provpb.Provenance {
	c := w.common(&r.Common)
	if c.identifier != nil {
		w.unwritable("identifier")
	}
	return &provpb.Provenance{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier,

		Target:   w.referenceList("target", r.Target),
		Occurred: w.occurred(r.Occurred),
		Recorded: w.instant("recorded", r.Recorded),
		Policy:   w.uris(r.Policy),
		Activity: w.conceptOf("activity", r.Activity),
		Agent:    messageChildren(w, "agent", r.Agent, (*messageWriter).agent),
		Entity:   messageChildren(w, "entity", r.Entity, (*messageWriter).provenanceEntity),
	}
}

func (w *messageWriter) occurred(v Value) *provpb.Provenance_OccurredX {
	p := &provpb.Provenance_OccurredX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case DateTime:
		p.Choice = &provpb.Provenance_OccurredX_DateTime{DateTime: w.dateTime("occurredDateTime", string(v))}
	case *Period:
		p.Choice = &provpb.Provenance_OccurredX_Period{Period: messageChild(w, "occurredPeriod", v, (*messageWriter).period)}
	default:
		w.unwritable("occurred")
	}
	return p
}

func (w *messageWriter) agent(a *Agent) *provpb.Provenance_Agent {
	return &provpb.Provenance_Agent{
		Type: w.conceptOf("type", a.Kind),
		Who:  w.referenceOf("who", &a.Who),
	}
}

func (w *messageWriter) provenanceEntity(e *ProvenanceEntity) *provpb.Provenance_Entity {
	p := &provpb.Provenance_Entity{What: w.referenceOf("what", &e.What)}
	if v, ok := messageCode(w, "role", e.Role, entityRoles); ok {
		p.Role = &provpb.Provenance_Entity_RoleCode{Value: v}
	}
	return p
}

func (w *messageWriter) device(r *Device) *devpb.Device {
	c := w.common(&r.Common)
	p := &devpb.Device{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier, Identifier: c.identifier,

		Manufacturer: w.str(r.Manufacturer),
		DeviceName:   messageChildren(w, "deviceName", r.DeviceName, (*messageWriter).deviceName),
		Type:         w.conceptOf("type", r.Kind),
		Version:      messageChildren(w, "version", r.Version, (*messageWriter).deviceVersion),
	}
	if v, ok := messageCode(w, "status", r.Status, deviceStatuses); ok {
		p.Status = &devpb.Device_StatusCode{Value: v}
	}
	return p
}

func (w *messageWriter) deviceName(n *DeviceName) *devpb.Device_DeviceName {
	p := &devpb.Device_DeviceName{Name: w.str(n.Name)}
	if v, ok := messageCode(w, "type", n.Kind, deviceNameTypes); ok {
		p.Type = &devpb.Device_DeviceName_TypeCode{Value: v}
	}
	return p
}

func (w *messageWriter) deviceVersion(v *DeviceVersion) *devpb.Device_Version {
	return &devpb.Device_Version{Value: w.str(v.Value)}
}

// operationOutcome writes an OperationOutcome. R4 has no identifier of it.
func (w *messageWriter) operationOutcome(o *OperationOutcome) *oopb.OperationOutcome {
	c := w.common(&o.Common)
	if c.identifier != nil {
		w.unwritable("identifier")
	}
	return &oopb.OperationOutcome{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier,

		Issue: messageChildren(w, "issue", o.Issue, (*messageWriter).outcomeIssue),
	}
}

func (w *messageWriter) outcomeIssue(i *OutcomeIssue) *oopb.OperationOutcome_Issue {
	p := &oopb.OperationOutcome_Issue{
		Details:     w.conceptOf("details", i.Details),
		Diagnostics: w.str(i.Diagnostics),
		Expression:  w.strings(i.Expression),
	}
	if v, ok := messageCode(w, "severity", i.Severity, issueSeverities); ok {
		p.Severity = &oopb.OperationOutcome_Issue_SeverityCode{Value: v}
	}
	if v, ok := messageCode(w, "code", i.Code, issueTypes); ok {
		p.Code = &oopb.OperationOutcome_Issue_CodeType{Value: v}
	}
	return p
}
