package fhir

import "slices"

func (d *decoder) diagnosticReport() *DiagnosticReport {
	r := &DiagnosticReport{}
	for d.member() {
		switch d.name {
		case "status":
			r.Status = d.code()
		case "category":
			r.Category = d.conceptList()
		case "code":
			d.conceptAgain(&r.Code)
		case "subject":
			r.Subject = d.referencePtr()
		case "encounter":
			r.Encounter = d.referencePtr()
		case "effectiveDateTime", "effectivePeriod":
			r.Effective = d.choice(r.Effective, "effective")
		case "issued":
			r.Issued = d.instant()
		case "performer":
			r.Performer = d.referenceList()
		case "result":
			r.Result = d.referenceList()
		case "conclusion":
			r.Conclusion = d.str()
		case "conclusionCode":
			r.ConclusionCode = d.conceptList()
		case "presentedForm":
			r.PresentedForm = list(d, &d.attachments, (*decoder).attachment)
		default:
			d.domain(&r.Common, "DiagnosticReport")
		}
	}
	d.require(r.Status != "", "status")
	d.require(!r.Code.isEmpty(), "code")
	return r
}

func (d *decoder) provenance() *Provenance {
	p := &Provenance{}
	for d.member() {
		switch d.name {
		case "target":
			p.Target = d.referenceList()
		case "occurredDateTime", "occurredPeriod":
			p.Occurred = d.choice(p.Occurred, "occurred")
		case "recorded":
			p.Recorded = d.instant()
		case "policy":
			p.Policy = d.primitives((*decoder).uri)
		case "activity":
			p.Activity = d.conceptPtr()
		case "agent":
			p.Agent = list(d, &d.agents, (*decoder).agent)
		case "entity":
			p.Entity = list(d, &d.sources, (*decoder).provenanceEntity)
		default:
			d.domain(&p.Common, "Provenance")
		}
	}
	d.require(slices.ContainsFunc(p.Target, isFilled), "target")
	d.require(p.Recorded != "", "recorded")
	d.require(p.Agent != nil, "agent")
	return p
}

func isFilled(r Reference) bool { return !r.isEmpty() }

func (d *decoder) agent(a *Agent) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "type":
			a.Kind = d.conceptPtr()
		case "who":
			d.reference(&a.Who)
		default:
			d.other("Provenance.agent")
		}
	}
	d.require(!a.Who.isEmpty(), "who")
}

func (d *decoder) provenanceEntity(e *ProvenanceEntity) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "role":
			e.Role = d.code()
		case "what":
			d.reference(&e.What)
		default:
			d.other("Provenance.entity")
		}
	}
	d.require(e.Role != "", "role")
	d.require(!e.What.isEmpty(), "what")
}

func (d *decoder) device() *Device {
	v := &Device{}
	for d.member() {
		switch d.name {
		case "status":
			v.Status = d.code()
		case "manufacturer":
			v.Manufacturer = d.str()
		case "deviceName":
			v.DeviceName = list(d, &d.deviceNames, (*decoder).deviceName)
		case "type":
			v.Kind = d.conceptPtr()
		case "version":
			v.Version = list(d, &d.versions, (*decoder).deviceVersion)
		default:
			d.domain(&v.Common, "Device")
		}
	}
	return v
}

func (d *decoder) deviceName(n *DeviceName) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "name":
			n.Name = d.str()
		case "type":
			n.Kind = d.code()
		default:
			d.other("Device.deviceName")
		}
	}
	d.require(n.Name != "", "name")
	d.require(n.Kind != "", "type")
}

func (d *decoder) deviceVersion(v *DeviceVersion) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "value":
			v.Value = d.str()
		default:
			d.other("Device.version")
		}
	}
	d.require(v.Value != "", "value")
}

func (d *decoder) operationOutcome() *OperationOutcome {
	o := &OperationOutcome{}
	for d.member() {
		switch d.name {
		case "issue":
			o.Issue = list(d, &d.outcomeIssues, (*decoder).outcomeIssue)
		default:
			d.domain(&o.Common, "OperationOutcome")
		}
	}
	d.require(o.Issue != nil, "issue")
	return o
}

func (d *decoder) outcomeIssue(i *OutcomeIssue) {
	if !d.object() {
		return
	}
	for d.member() {
		switch d.name {
		case "severity":
			i.Severity = d.code()
		case "code":
			i.Code = d.code()
		case "details":
			i.Details = d.conceptPtr()
		case "diagnostics":
			i.Diagnostics = d.str()
		case "expression":
			i.Expression = d.primitives((*decoder).str)
		default:
			d.other("OperationOutcome.issue")
		}
	}
	d.require(i.Severity != "", "severity")
	d.require(i.Code != "", "code")
}
