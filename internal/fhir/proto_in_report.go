package fhir

import (
	"slices"

	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	devpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/device_go_proto"
	drpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/diagnostic_report_go_proto"
	oopb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/operation_outcome_go_proto"
	provpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/provenance_go_proto"
)

func (r *reader) diagnosticReport(p *drpb.DiagnosticReport) *DiagnosticReport {
	d := &DiagnosticReport{
		Common:         r.common(p, p.Identifier),
		Status:         readCode(r, "status", p.Status, reportStatuses),
		Category:       r.conceptList("category", p.Category),
		Code:           inline(r, "code", p.Code, (*reader).concept),
		Subject:        r.referenceOf("subject", p.Subject),
		Encounter:      r.referenceOf("encounter", p.Encounter),
		Effective:      r.reportEffective(p.Effective),
		Issued:         r.instant("issued", p.Issued),
		Performer:      r.referenceList("performer", p.Performer),
		Result:         r.referenceList("result", p.Result),
		Conclusion:     r.str("conclusion", p.Conclusion),
		ConclusionCode: r.conceptList("conclusionCode", p.ConclusionCode),
		PresentedForm:  repeated(r, &r.attachments, "presentedForm", p.PresentedForm, (*reader).attachment),
	}
	r.require(d.Status != "", "status")
	r.require(!d.Code.IsEmpty(), "code")
	return d
}

func (r *reader) reportEffective(p *drpb.DiagnosticReport_EffectiveX) Value {
	if p == nil {
		return nil
	}
	switch c := p.Choice.(type) {
	case *drpb.DiagnosticReport_EffectiveX_DateTime:
		return r.dateTimeValue("effectiveDateTime", c.DateTime)
	case *drpb.DiagnosticReport_EffectiveX_Period:
		return r.periodValue("effectivePeriod", c.Period)
	default:
		return r.noChoice("effective")
	}
}

func (r *reader) attachment(p *dpb.Attachment) Attachment {
	a := Attachment{
		Language: r.code("language", p.Language),
		Data:     p.GetData().GetValue(),
		Title:    r.str("title", p.Title),
		Creation: r.dateTime("creation", p.Creation),
	}
	if t := p.ContentType; t != nil {
		a.ContentType = r.code("contentType", &dpb.Code{Value: t.Value, Extension: t.Extension})
	}
	return a
}

func (r *reader) provenance(p *provpb.Provenance) *Provenance {
	v := &Provenance{
		Common:   r.common(p, nil),
		Target:   r.referenceList("target", p.Target),
		Occurred: r.occurred(p.Occurred),
		Recorded: r.instant("recorded", p.Recorded),
		Policy:   r.uris("policy", p.Policy),
		Activity: r.conceptOf("activity", p.Activity),
		Agent:    repeated(r, &r.agents, "agent", p.Agent, (*reader).agent),
		Entity:   repeated(r, &r.sources, "entity", p.Entity, (*reader).provenanceEntity),
	}
	r.require(slices.ContainsFunc(v.Target, isFilled), "target")
	r.require(v.Recorded != "", "recorded")
	r.require(v.Agent != nil, "agent")
	return v
}

func (r *reader) occurred(p *provpb.Provenance_OccurredX) Value {
	if p == nil {
		return nil
	}
	switch c := p.Choice.(type) {
	case *provpb.Provenance_OccurredX_DateTime:
		return r.dateTimeValue("occurredDateTime", c.DateTime)
	case *provpb.Provenance_OccurredX_Period:
		return r.periodValue("occurredPeriod", c.Period)
	default:
		return r.noChoice("occurred")
	}
}

func (r *reader) agent(p *provpb.Provenance_Agent) Agent {
	a := Agent{
		Kind: r.conceptOf("type", p.Type),
		Who:  inline(r, "who", p.Who, (*reader).reference),
	}
	r.require(!a.Who.IsEmpty(), "who")
	return a
}

func (r *reader) provenanceEntity(p *provpb.Provenance_Entity) ProvenanceEntity {
	e := ProvenanceEntity{
		Role: readCode(r, "role", p.Role, entityRoles),
		What: inline(r, "what", p.What, (*reader).reference),
	}
	r.require(e.Role != "", "role")
	r.require(!e.What.IsEmpty(), "what")
	return e
}

func (r *reader) device(p *devpb.Device) *Device {
	return &Device{
		Common:       r.common(p, p.Identifier),
		Status:       readCode(r, "status", p.Status, deviceStatuses),
		Manufacturer: r.str("manufacturer", p.Manufacturer),
		DeviceName:   repeated(r, &r.deviceNames, "deviceName", p.DeviceName, (*reader).deviceName),
		Kind:         r.conceptOf("type", p.Type),
		Version:      repeated(r, &r.versions, "version", p.Version, (*reader).deviceVersion),
	}
}

func (r *reader) deviceName(p *devpb.Device_DeviceName) DeviceName {
	n := DeviceName{
		Name: r.str("name", p.Name),
		Kind: readCode(r, "type", p.Type, deviceNameTypes),
	}
	r.require(n.Name != "", "name")
	r.require(n.Kind != "", "type")
	return n
}

func (r *reader) deviceVersion(p *devpb.Device_Version) DeviceVersion {
	v := DeviceVersion{Value: r.str("value", p.Value)}
	r.require(v.Value != "", "value")
	return v
}

func (r *reader) operationOutcome(p *oopb.OperationOutcome) *OperationOutcome {
	o := &OperationOutcome{
		Common: r.common(p, nil),
		Issue:  repeated(r, &r.outcomeIssues, "issue", p.Issue, (*reader).outcomeIssue),
	}
	r.require(o.Issue != nil, "issue")
	return o
}

func (r *reader) outcomeIssue(p *oopb.OperationOutcome_Issue) OutcomeIssue {
	i := OutcomeIssue{
		Severity:    readCode(r, "severity", p.Severity, issueSeverities),
		Code:        readCode(r, "code", p.Code, issueTypes),
		Details:     r.conceptOf("details", p.Details),
		Diagnostics: r.str("diagnostics", p.Diagnostics),
		Expression:  r.strings("expression", p.Expression),
	}
	r.require(i.Severity != "", "severity")
	r.require(i.Code != "", "code")
	return i
}
