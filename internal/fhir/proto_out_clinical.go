package fhir

func (w *writer) patient(r *Patient) {
	w.common(&r.Common)
	children(w, 10, "identifier", r.Identifier, (*writer).identifier)
	w.date(15, "birthDate", r.BirthDate)
}

func (w *writer) condition(r *Condition) {
	w.common(&r.Common)
	children(w, 10, "identifier", r.Identifier, (*writer).identifier)
	w.conceptOf(11, "clinicalStatus", r.ClinicalStatus)
	w.conceptOf(12, "verificationStatus", r.VerificationStatus)
	w.conceptOf(15, "code", r.Code)
	w.conceptList(16, "bodySite", r.BodySite)
	w.referenceOf(17, "subject", r.Subject)
	choice(w, 19, "onset", r.Onset, (*writer).onset)
}

func (w *writer) onset(v Value) bool {
	switch v := v.(type) {
	case nil, OtherValue:
	case DateTime:
		w.dateTime(1, "onsetDateTime", string(v))
	case *Period:
		child(w, 3, "onsetPeriod", v, (*writer).period)
	case String:
		w.text(5, "onsetString", string(v))
	default:
		return false
	}
	return true
}

func (w *writer) procedure(r *Procedure) {
	w.common(&r.Common)
	children(w, 10, "identifier", r.Identifier, (*writer).identifier)
	writeCode(w, 15, "status", r.Status, procedureStatuses)
	w.conceptOf(18, "code", r.Code)
	w.referenceOf(19, "subject", r.Subject)
	choice(w, 21, "performed", r.Performed, (*writer).performed)
	w.conceptList(28, "bodySite", r.BodySite)
}

func (w *writer) performed(v Value) bool {
	switch v := v.(type) {
	case nil, OtherValue:
	case DateTime:
		w.dateTime(1, "performedDateTime", string(v))
	case *Period:
		child(w, 2, "performedPeriod", v, (*writer).period)
	case String:
		w.text(3, "performedString", string(v))
	default:
		return false
	}
	return true
}

func (w *writer) encounter(r *Encounter) {
	w.common(&r.Common)
	children(w, 10, "identifier", r.Identifier, (*writer).identifier)
	writeCode(w, 11, "status", r.Status, encounterStatuses)
	child(w, 13, "class", &r.Class, (*writer).coding)
	w.referenceOf(18, "subject", r.Subject)
	child(w, 23, "period", r.Period, (*writer).period)
}
