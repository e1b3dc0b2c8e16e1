package fhir

import (
	devpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/device_go_proto"
	drpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/diagnostic_report_go_proto"
	oopb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
	provpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/provenance_go_proto"
)

func (w *writer) diagnosticReport(r *DiagnosticReport) *drpb.DiagnosticReport {
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
		PresentedForm:  children(w, "presentedForm", r.PresentedForm, (*writer).attachment),
	}
	if v, ok := writeCode(w, "status", r.Status, reportStatuses); ok {
		p.Status = &drpb.DiagnosticReport_StatusCode{Value: v}
	}
	return p
}

func (w *writer) reportEffective(v Value) *drpb.DiagnosticReport_EffectiveX {
	p := &drpb.DiagnosticReport_EffectiveX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case DateTime:
		p.Choice = &drpb.DiagnosticReport_EffectiveX_DateTime{DateTime: w.dateTime("effectiveDateTime", string(v))}
	case *Period:
		p.Choice = &drpb.DiagnosticReport_EffectiveX_Period{Period: child(w, "effectivePeriod", v, (*writer).period)}
	default:
		w.unwritable("effective")
	}
	return p
}

// provenance writes a Provenance. R4 has no identifier of it.
func (w *writer) provenance(r *Provenance) *provpb.Provenance {
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
		Agent:    children(w, "agent", r.Agent, (*writer).agent),
		Entity:   children(w, "entity", r.Entity, (*writer).provenanceEntity),
	}
}

func (w *writer) occurred(v Value) *provpb.Provenance_OccurredX {
	p := &provpb.Provenance_OccurredX{}
	switch v := v.(type) {
	case nil, OtherValue:
		return nil
	case DateTime:
		p.Choice = &provpb.Provenance_OccurredX_DateTime{DateTime: w.dateTime("occurredDateTime", string(v))}
	case *Period:
		p.Choice = &provpb.Provenance_OccurredX_Period{Period: child(w, "occurredPeriod", v, (*writer).period)}
	default:
		w.unwritable("occurred")
	}
	return p
}

func (w *writer) agent(a *Agent) *provpb.Provenance_Agent {
	return &provpb.Provenance_Agent{
		Type: w.conceptOf("type", a.Kind),
		Who:  w.referenceOf("who", &a.Who),
	}
}

func (w *writer) provenanceEntity(e *ProvenanceEntity) *provpb.Provenance_Entity {
	p := &provpb.Provenance_Entity{What: w.referenceOf("what", &e.What)}
	if v, ok := writeCode(w, "role", e.Role, entityRoles); ok {
		p.Role = &provpb.Provenance_Entity_RoleCode{Value: v}
	}
	return p
}

func (w *writer) device(r *Device) *devpb.Device {
	c := w.common(&r.Common)
	p := &devpb.Device{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier, Identifier: c.identifier,

		Manufacturer: w.str(r.Manufacturer),
		DeviceName:   children(w, "deviceName", r.DeviceName, (*writer).deviceName),
		Type:         w.conceptOf("type", r.Kind),
		Version:      children(w, "version", r.Version, (*writer).deviceVersion),
	}
	if v, ok := writeCode(w, "status", r.Status, deviceStatuses); ok {
		p.Status = &devpb.Device_StatusCode{Value: v}
	}
	return p
}

func (w *writer) deviceName(n *DeviceName) *devpb.Device_DeviceName {
	p := &devpb.Device_DeviceName{Name: w.str(n.Name)}
	if v, ok := writeCode(w, "type", n.Kind, deviceNameTypes); ok {
		p.Type = &devpb.Device_DeviceName_TypeCode{Value: v}
	}
	return p
}

func (w *writer) deviceVersion(v *DeviceVersion) *devpb.Device_Version {
	return &devpb.Device_Version{Value: w.str(v.Value)}
}

// operationOutcome writes an OperationOutcome. R4 has no identifier of it.
func (w *writer) operationOutcome(o *OperationOutcome) *oopb.OperationOutcome {
	c := w.common(&o.Common)
	if c.identifier != nil {
		w.unwritable("identifier")
	}
	return &oopb.OperationOutcome{
		Id: c.id, Meta: c.meta, ImplicitRules: c.implicitRules, Language: c.language, Text: c.text,
		Contained: c.contained, Extension: c.extension, ModifierExtension: c.modifier,

		Issue: children(w, "issue", o.Issue, (*writer).outcomeIssue),
	}
}

func (w *writer) outcomeIssue(i *OutcomeIssue) *oopb.OperationOutcome_Issue {
	p := &oopb.OperationOutcome_Issue{
		Details:     w.conceptOf("details", i.Details),
		Diagnostics: w.str(i.Diagnostics),
		Expression:  w.strings(i.Expression),
	}
	if v, ok := writeCode(w, "severity", i.Severity, issueSeverities); ok {
		p.Severity = &oopb.OperationOutcome_Issue_SeverityCode{Value: v}
	}
	if v, ok := writeCode(w, "code", i.Code, issueTypes); ok {
		p.Code = &oopb.OperationOutcome_Issue_CodeType{Value: v}
	}
	return p
}
