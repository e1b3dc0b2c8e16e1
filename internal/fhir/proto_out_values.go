package fhir

import (
	"google.golang.org/protobuf/encoding/protowire"
)

func (w *writer) meta(m *Meta) {
	w.text(3, "versionId", m.VersionID)
	w.instant(4, "lastUpdated", m.LastUpdated)
	w.text(5, "source", m.Source)
	w.texts(6, "profile", m.Profile)
	children(w, 8, "tag", m.Tag, (*writer).coding)
}

func (w *writer) narrative(n *Narrative) {
	writeCode(w, 3, "status", n.Status, narrativeStatuses)
	w.text(4, "div", n.Div)
}

func (w *writer) coding(c *Coding) {
	w.text(3, "system", c.System)
	w.text(4, "version", c.Version)
	w.text(5, "code", c.Code)
	w.text(6, "display", c.Display)
}

func (w *writer) concept(c *CodeableConcept) {
	w.extensionList(2, "extension", c.Extension)
	children(w, 3, "coding", c.Coding, (*writer).coding)
	w.text(4, "text", c.Text)
}

func (w *writer) conceptOf(number protowire.Number, name string, c *CodeableConcept) {
	child(w, number, name, c, (*writer).concept)
}

func (w *writer) conceptList(number protowire.Number, name string, cs []CodeableConcept) {
	children(w, number, name, cs, (*writer).concept)
}

func (w *writer) identifier(i *Identifier) {
	w.text(5, "system", i.System)
	w.text(6, "value", i.Value)
}

func (w *writer) quantity(q *Quantity) {
	w.decimal(3, "value", q.Value)
	writeCode(w, 4, "comparator", q.Comparator, comparators)
	w.text(5, "unit", q.Unit)
	w.text(6, "system", q.System)
	w.text(7, "code", q.Code)
}

// simpleQuantity writes a quantity that cannot have a comparator.
func (w *writer) simpleQuantity(q *Quantity) {
	if q.Comparator != "" {
		w.unwritable("comparator")
	}
	w.decimal(3, "value", q.Value)
	w.text(5, "unit", q.Unit)
	w.text(6, "system", q.System)
	w.text(7, "code", q.Code)
}

func (w *writer) period(p *Period) {
	w.dateTime(3, "start", p.Start)
	w.dateTime(4, "end", p.End)
}

func (w *writer) annotation(a *Annotation) { w.text(5, "text", a.Text) }

func (w *writer) annotationList(number protowire.Number, name string, as []Annotation) {
	children(w, number, name, as, (*writer).annotation)
}

func (w *writer) attachment(a *Attachment) {
	w.contentType(3, "contentType", a.ContentType)
	w.text(4, "language", a.Language)
	w.data(5, "data", a.Data)
	w.text(9, "title", a.Title)
	w.dateTime(10, "creation", a.Creation)
}

// contentType writes the one code that is bound to more than an enum can hold.
// Its message has the value at the end.
func (w *writer) contentType(number protowire.Number, name, code string) {
	if code == "" {
		return
	}
	const value = 4
	m := w.open(number)
	w.characters(value, name, code)
	w.close(m)
}

// data writes a Base64Binary, which is bytes here.
func (w *writer) data(number protowire.Number, _ string, b []byte) {
	if len(b) == 0 {
		return
	}
	m := w.open(number)
	w.bytes(primitiveValue, b)
	w.close(m)
}

func (w *writer) extension(e *Extension) {
	w.text(2, "url", e.URL)
	w.extensionList(3, "extension", e.Extension)
	choice(w, 4, "value", e.Value, (*writer).extensionValue)
}

func (w *writer) extensionList(number protowire.Number, name string, es []Extension) {
	children(w, number, name, es, (*writer).extension)
}

func (w *writer) extensionValue(v Value) bool {
	switch v := v.(type) {
	case nil, OtherValue:
	case Boolean:
		w.boolean(2, "valueBoolean", bool(v))
	case Canonical:
		w.text(3, "valueCanonical", string(v))
	case Code:
		w.text(4, "valueCode", string(v))
	case Date:
		w.date(5, "valueDate", string(v))
	case DateTime:
		w.dateTime(6, "valueDateTime", string(v))
	case Instant:
		w.instant(9, "valueInstant", string(v))
	case Integer:
		w.integer(10, "valueInteger", int32(v))
	case String:
		w.text(14, "valueString", string(v))
	case URI:
		w.text(17, "valueUri", string(v))
	case *CodeableConcept:
		w.conceptOf(24, "valueCodeableConcept", v)
	case *Coding:
		child(w, 25, "valueCoding", v, (*writer).coding)
	case *Period:
		child(w, 33, "valuePeriod", v, (*writer).period)
	case *Quantity:
		child(w, 34, "valueQuantity", v, (*writer).quantity)
	case *Reference:
		w.referenceOf(37, "valueReference", v)
	default:
		return false
	}
	return true
}
