package fhir

func (w *writer) goal(g *Goal) {
	w.common(&g.Common)
	children(w, 10, "identifier", g.Identifier, (*writer).identifier)
	writeCode(w, 11, "lifecycleStatus", g.LifecycleStatus, goalStatuses)
	w.conceptOf(12, "achievementStatus", g.AchievementStatus)
	w.conceptList(13, "category", g.Category)
	w.conceptOf(15, "description", &g.Description)
	w.referenceOf(16, "subject", g.Subject)
	choice(w, 17, "start", g.StartDate, (*writer).goalStart)
	children(w, 18, "target", g.Target, (*writer).target)
	w.referenceList(22, "addresses", g.Addresses)
	w.annotationList(23, "note", g.Note)
	w.referenceList(25, "outcomeReference", g.OutcomeReference)
}

// goalStart writes when a Goal starts, which is a date here.
func (w *writer) goalStart(date string) bool {
	w.date(1, "startDate", date)
	return true
}

func (w *writer) target(t *Target) {
	w.conceptOf(4, "measure", t.Measure)
	choice(w, 5, "detail", t.Detail, (*writer).targetDetail)
	choice(w, 6, "due", t.DueDate, (*writer).targetDue)
}

// targetDue writes when a target is due, which is a date here.
func (w *writer) targetDue(date string) bool {
	w.date(1, "dueDate", date)
	return true
}

func (w *writer) targetDetail(v Value) bool {
	switch v := v.(type) {
	case nil, OtherValue:
	case *Quantity:
		child(w, 1, "detailQuantity", v, (*writer).quantity)
	case *CodeableConcept:
		w.conceptOf(3, "detailCodeableConcept", v)
	case String:
		w.text(4, "detailString", string(v))
	case Boolean:
		w.boolean(5, "detailBoolean", bool(v))
	case Integer:
		w.integer(6, "detailInteger", int32(v))
	default:
		return false
	}
	return true
}

func (w *writer) carePlan(r *CarePlan) {
	w.common(&r.Common)
	children(w, 10, "identifier", r.Identifier, (*writer).identifier)
	w.texts(11, "instantiatesCanonical", r.InstantiatesCanonical)
	w.referenceList(14, "replaces", r.Replaces)
	writeCode(w, 16, "status", r.Status, planStatuses)
	writeCode(w, 17, "intent", r.Intent, planIntents)
	w.conceptList(18, "category", r.Category)
	w.text(19, "title", r.Title)
	w.text(20, "description", r.Description)
	w.referenceOf(21, "subject", r.Subject)
	w.referenceOf(22, "encounter", r.Encounter)
	child(w, 23, "period", r.Period, (*writer).period)
	w.dateTime(24, "created", r.Created)
	w.referenceOf(25, "author", r.Author)
	w.referenceList(28, "addresses", r.Addresses)
	w.referenceList(29, "supportingInfo", r.SupportingInfo)
	w.referenceList(30, "goal", r.Goal)
	children(w, 31, "activity", r.Activity, (*writer).activity)
	w.annotationList(32, "note", r.Note)
}

func (w *writer) activity(a *Activity) {
	child(w, 8, "detail", a.Detail, (*writer).activityDetail)
}

func (w *writer) activityDetail(d *ActivityDetail) {
	writeCode(w, 4, "kind", d.Kind, activityKinds)
	w.texts(5, "instantiatesCanonical", d.InstantiatesCanonical)
	w.conceptOf(7, "code", d.Code)
	w.conceptList(8, "reasonCode", d.ReasonCode)
	w.referenceList(9, "reasonReference", d.ReasonReference)
	w.referenceList(10, "goal", d.Goal)
	writeCode(w, 11, "status", d.Status, activityStatuses)
	w.conceptOf(12, "statusReason", d.StatusReason)
	if d.DoNotPerform {
		w.boolean(13, "doNotPerform", true)
	}
	choice(w, 14, "scheduled", d, (*writer).scheduled)
	w.text(20, "description", d.Description)
}

// scheduled writes when an activity takes place, as a period or in words, but
// not both.
func (w *writer) scheduled(d *ActivityDetail) bool {
	child(w, 2, "scheduledPeriod", d.ScheduledPeriod, (*writer).period)
	w.text(3, "scheduledString", d.ScheduledString)
	return d.ScheduledPeriod == nil || d.ScheduledString == ""
}
