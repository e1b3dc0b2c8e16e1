package fhir

func (e *encoder) goal(g *Goal) {
	e.common(&g.Common)
	e.text("lifecycleStatus", g.LifecycleStatus)
	e.concept("achievementStatus", g.AchievementStatus)
	e.concepts("category", g.Category)
	e.concept("description", &g.Description)
	e.reference("subject", g.Subject)
	e.text("startDate", g.StartDate)
	arrayMember(e, "target", g.Target, (*encoder).target)
	e.references("addresses", g.Addresses)
	e.notes(g.Note)
	e.references("outcomeReference", g.OutcomeReference)
}

func (e *encoder) target(t *Target) {
	e.concept("measure", t.Measure)
	e.choice("detail", t.Detail)
	e.text("dueDate", t.DueDate)
}

func (e *encoder) carePlan(c *CarePlan) {
	e.common(&c.Common)
	e.texts("instantiatesCanonical", c.InstantiatesCanonical)
	e.references("replaces", c.Replaces)
	e.text("status", c.Status)
	e.text("intent", c.Intent)
	e.concepts("category", c.Category)
	e.text("title", c.Title)
	e.text("description", c.Description)
	e.reference("subject", c.Subject)
	e.reference("encounter", c.Encounter)
	e.period("period", c.Period)
	e.text("created", c.Created)
	e.reference("author", c.Author)
	e.references("addresses", c.Addresses)
	e.references("supportingInfo", c.SupportingInfo)
	e.references("goal", c.Goal)
	arrayMember(e, "activity", c.Activity, (*encoder).activity)
	e.notes(c.Note)
}

func (e *encoder) activity(a *Activity) {
	objectMember(e, "detail", a.Detail, (*encoder).activityDetail)
}

func (e *encoder) activityDetail(a *ActivityDetail) {
	e.text("kind", a.Kind)
	e.texts("instantiatesCanonical", a.InstantiatesCanonical)
	e.concept("code", a.Code)
	e.concepts("reasonCode", a.ReasonCode)
	e.references("reasonReference", a.ReasonReference)
	e.references("goal", a.Goal)
	e.text("status", a.Status)
	e.concept("statusReason", a.StatusReason)
	e.flag("doNotPerform", a.DoNotPerform)
	e.period("scheduledPeriod", a.ScheduledPeriod)
	e.text("scheduledString", a.ScheduledString)
	e.text("description", a.Description)
}

func (e *encoder) diagnosticReport(r *DiagnosticReport) {
	e.common(&r.Common)
	e.text("status", r.Status)
	e.concepts("category", r.Category)
	e.concept("code", &r.Code)
	e.reference("subject", r.Subject)
	e.reference("encounter", r.Encounter)
	e.choice("effective", r.Effective)
	e.text("issued", r.Issued)
	e.references("performer", r.Performer)
	e.references("result", r.Result)
	e.text("conclusion", r.Conclusion)
	e.concepts("conclusionCode", r.ConclusionCode)
	arrayMember(e, "presentedForm", r.PresentedForm, (*encoder).attachment)
}

func (e *encoder) provenance(p *Provenance) {
	e.common(&p.Common)
	e.references("target", p.Target)
	e.choice("occurred", p.Occurred)
	e.text("recorded", p.Recorded)
	e.texts("policy", p.Policy)
	e.concept("activity", p.Activity)
	arrayMember(e, "agent", p.Agent, (*encoder).agent)
	arrayMember(e, "entity", p.Entity, (*encoder).provenanceEntity)
}

func (e *encoder) agent(a *Agent) {
	e.concept("type", a.Kind)
	e.reference("who", &a.Who)
}

func (e *encoder) provenanceEntity(n *ProvenanceEntity) {
	e.text("role", n.Role)
	e.reference("what", &n.What)
}

func (e *encoder) device(v *Device) {
	e.common(&v.Common)
	e.text("status", v.Status)
	e.text("manufacturer", v.Manufacturer)
	arrayMember(e, "deviceName", v.DeviceName, (*encoder).deviceName)
	e.concept("type", v.Kind)
	arrayMember(e, "version", v.Version, (*encoder).deviceVersion)
}

func (e *encoder) deviceName(n *DeviceName) {
	e.text("name", n.Name)
	e.text("type", n.Kind)
}

func (e *encoder) deviceVersion(v *DeviceVersion) { e.text("value", v.Value) }

func (e *encoder) outcomeIssue(i *OutcomeIssue) {
	e.text("severity", i.Severity)
	e.text("code", i.Code)
	e.concept("details", i.Details)
	e.text("diagnostics", i.Diagnostics)
	e.texts("expression", i.Expression)
}
