package fhir

func (w *writer) observation(o *Observation) {
	w.common(&o.Common)
	children(w, 10, "identifier", o.Identifier, (*writer).identifier)
	writeCode(w, 13, "status", o.Status, observationStatuses)
	w.conceptList(14, "category", o.Category)
	w.conceptOf(15, "code", &o.Code)
	w.referenceOf(16, "subject", o.Subject)
	w.referenceList(17, "focus", o.Focus)
	w.referenceOf(18, "encounter", o.Encounter)
	choice(w, 19, "effective", o.Effective, (*writer).observationEffective)
	w.instant(20, "issued", o.Issued)
	w.referenceList(21, "performer", o.Performer)
	choice(w, 22, "value", o.Value, (*writer).observationValue)
	w.conceptOf(23, "dataAbsentReason", o.DataAbsentReason)
	w.conceptList(24, "interpretation", o.Interpretation)
	w.annotationList(25, "note", o.Note)
	w.conceptOf(26, "bodySite", o.BodySite)
	w.conceptOf(27, "method", o.Method)
	w.referenceOf(29, "device", o.Device)
	children(w, 30, "referenceRange", o.ReferenceRange, (*writer).referenceRange)
	w.referenceList(31, "hasMember", o.HasMember)
	w.referenceList(32, "derivedFrom", o.DerivedFrom)
	children(w, 33, "component", o.Component, (*writer).component)
}

func (w *writer) observationEffective(v Value) bool {
	switch v := v.(type) {
	case nil, OtherValue:
	case DateTime:
		w.dateTime(1, "effectiveDateTime", string(v))
	case *Period:
		child(w, 2, "effectivePeriod", v, (*writer).period)
	case Instant:
		w.instant(4, "effectiveInstant", string(v))
	default:
		return false
	}
	return true
}

// observationValue writes the value of an Observation or of one of its
// components: the two messages have the same fields.
func (w *writer) observationValue(v Value) bool {
	switch v := v.(type) {
	case nil, OtherValue:
	case *Quantity:
		child(w, 1, "valueQuantity", v, (*writer).quantity)
	case *CodeableConcept:
		w.conceptOf(2, "valueCodeableConcept", v)
	case String:
		w.text(3, "valueString", string(v))
	case Boolean:
		w.boolean(4, "valueBoolean", bool(v))
	case Integer:
		w.integer(5, "valueInteger", int32(v))
	case DateTime:
		w.dateTime(10, "valueDateTime", string(v))
	case *Period:
		child(w, 11, "valuePeriod", v, (*writer).period)
	default:
		return false
	}
	return true
}

func (w *writer) component(c *Component) {
	w.extensionList(3, "modifierExtension", c.ModifierExtension)
	w.conceptOf(4, "code", &c.Code)
	choice(w, 5, "value", c.Value, (*writer).observationValue)
	w.conceptOf(6, "dataAbsentReason", c.DataAbsentReason)
	w.conceptList(7, "interpretation", c.Interpretation)
	children(w, 8, "referenceRange", c.ReferenceRange, (*writer).referenceRange)
}

func (w *writer) referenceRange(r *ReferenceRange) {
	child(w, 4, "low", r.Low, (*writer).simpleQuantity)
	child(w, 5, "high", r.High, (*writer).simpleQuantity)
	w.conceptOf(6, "type", r.Kind)
	w.text(9, "text", r.Text)
}
