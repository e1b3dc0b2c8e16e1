package fhir

func (w *writer) diagnosticReport(r *DiagnosticReport) {
	w.common(&r.Common)
	children(w, 10, "identifier", r.Identifier, (*writer).identifier)
	writeCode(w, 12, "status", r.Status, reportStatuses)
	w.conceptList(13, "category", r.Category)
	w.conceptOf(14, "code", &r.Code)
	w.referenceOf(15, "subject", r.Subject)
	w.referenceOf(16, "encounter", r.Encounter)
	choice(w, 17, "effective", r.Effective, (*writer).reportEffective)
	w.instant(18, "issued", r.Issued)
	w.referenceList(19, "performer", r.Performer)
	w.referenceList(22, "result", r.Result)
	w.text(25, "conclusion", r.Conclusion)
	w.conceptList(26, "conclusionCode", r.ConclusionCode)
	children(w, 27, "presentedForm", r.PresentedForm, (*writer).attachment)
}

func (w *writer) reportEffective(v Value) bool {
	switch v := v.(type) {
	case nil, OtherValue:
	case DateTime:
		w.dateTime(1, "effectiveDateTime", string(v))
	case *Period:
		child(w, 2, "effectivePeriod", v, (*writer).period)
	default:
		return false
	}
	return true
}

// provenance writes a Provenance. R4 has no identifier of it.
func (w *writer) provenance(r *Provenance) {
	if len(r.Identifier) > 0 {
		w.unwritable("identifier")
	}
	w.common(&r.Common)
	w.referenceList(10, "target", r.Target)
	choice(w, 11, "occurred", r.Occurred, (*writer).occurred)
	w.instant(12, "recorded", r.Recorded)
	w.texts(13, "policy", r.Policy)
	w.conceptOf(16, "activity", r.Activity)
	children(w, 17, "agent", r.Agent, (*writer).agent)
	children(w, 18, "entity", r.Entity, (*writer).provenanceEntity)
}

func (w *writer) occurred(v Value) bool {
	switch v := v.(type) {
	case nil, OtherValue:
	case *Period:
		child(w, 1, "occurredPeriod", v, (*writer).period)
	case DateTime:
		w.dateTime(2, "occurredDateTime", string(v))
	default:
		return false
	}
	return true
}

func (w *writer) agent(a *Agent) {
	w.conceptOf(4, "type", a.Kind)
	w.referenceOf(6, "who", &a.Who)
}

func (w *writer) provenanceEntity(e *ProvenanceEntity) {
	writeCode(w, 4, "role", e.Role, entityRoles)
	w.referenceOf(5, "what", &e.What)
}

func (w *writer) device(r *Device) {
	w.common(&r.Common)
	children(w, 10, "identifier", r.Identifier, (*writer).identifier)
	writeCode(w, 13, "status", r.Status, deviceStatuses)
	w.text(16, "manufacturer", r.Manufacturer)
	children(w, 21, "deviceName", r.DeviceName, (*writer).deviceName)
	w.conceptOf(24, "type", r.Kind)
	children(w, 26, "version", r.Version, (*writer).deviceVersion)
}

func (w *writer) deviceName(n *DeviceName) {
	w.text(4, "name", n.Name)
	writeCode(w, 5, "type", n.Kind, deviceNameTypes)
}

func (w *writer) deviceVersion(v *DeviceVersion) { w.text(6, "value", v.Value) }

// operationOutcome writes an OperationOutcome. R4 has no identifier of it.
func (w *writer) operationOutcome(o *OperationOutcome) {
	if len(o.Identifier) > 0 {
		w.unwritable("identifier")
	}
	w.common(&o.Common)
	children(w, 10, "issue", o.Issue, (*writer).outcomeIssue)
}

func (w *writer) outcomeIssue(i *OutcomeIssue) {
	writeCode(w, 4, "severity", i.Severity, issueSeverities)
	writeCode(w, 5, "code", i.Code, issueTypes)
	w.conceptOf(6, "details", i.Details)
	w.text(7, "diagnostics", i.Diagnostics)
	w.texts(9, "expression", i.Expression)
}
