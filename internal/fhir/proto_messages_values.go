package fhir

import (
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
)

func (w *messageWriter) meta(m *Meta) *dpb.Meta {
	return &dpb.Meta{
		VersionId:   idOf(m.VersionID),
		LastUpdated: w.instant("lastUpdated", m.LastUpdated),
		Source:      w.uri(m.Source),
		Profile:     canonicalsOf(m.Profile),
		Tag:         messageChildren(w, "tag", m.Tag, (*messageWriter).coding),
	}
}

func (w *messageWriter) narrative(n *Narrative) *dpb.Narrative {
	p := &dpb.Narrative{Div: xhtmlOf(n.Div)}
	if v, ok := messageCode(w, "status", n.Status, narrativeStatuses); ok {
		p.Status = &dpb.Narrative_StatusCode{Value: v}
	}
	return p
}

func (w *messageWriter) coding(c *Coding) *dpb.Coding {
	if *c == (Coding{}) {
		return nil
	}
	p := w.made.codings.One()
	p.System = w.uri(c.System)
	p.Version = w.str(c.Version)
	p.Code = w.code(c.Code)
	p.Display = w.str(c.Display)
	return p
}

func (w *messageWriter) concept(c *CodeableConcept) *dpb.CodeableConcept {
	if c.isEmpty() {
		return nil
	}
	p := w.made.concepts.One()
	p.Extension = w.extensionList("extension", c.Extension)
	p.Coding = messageChildren(w, "coding", c.Coding, (*messageWriter).coding)
	p.Text = w.str(c.Text)
	return p
}

func (w *messageWriter) conceptOf(name string, c *CodeableConcept) *dpb.CodeableConcept {
	return messageChild(w, name, c, (*messageWriter).concept)
}

func (w *messageWriter) conceptList(name string, cs []CodeableConcept) []*dpb.CodeableConcept {
	return messageChildren(w, name, cs, (*messageWriter).concept)
}

func (w *messageWriter) identifier(i *Identifier) *dpb.Identifier {
	if *i == (Identifier{}) {
		return nil
	}
	return &dpb.Identifier{System: w.uri(i.System), Value: w.str(i.Value)}
}

func (w *messageWriter) reference(r *Reference) *dpb.Reference {
	if r.isEmpty() {
		return nil
	}
	p := w.made.references.One()
	p.Type = w.uri(r.TypeName)
	p.Identifier = messageChild(w, "identifier", r.Identifier, (*messageWriter).identifier)
	p.Display = w.str(r.Display)
	w.setReference(p, r.Reference)
	return p
}

func (w *messageWriter) referenceOf(name string, r *Reference) *dpb.Reference {
	return messageChild(w, name, r, (*messageWriter).reference)
}

func (w *messageWriter) referenceList(name string, rs []Reference) []*dpb.Reference {
	return messageChildren(w, name, rs, (*messageWriter).reference)
}

func (w *messageWriter) quantity(q *Quantity) *dpb.Quantity {
	if *q == (Quantity{}) {
		return nil
	}
	p := w.made.quantities.One()
	p.Value = w.decimal("value", q.Value)
	p.Unit = w.str(q.Unit)
	p.System = w.uri(q.System)
	p.Code = w.code(q.Code)
	if v, ok := messageCode(w, "comparator", q.Comparator, comparators); ok {
		p.Comparator = &dpb.Quantity_ComparatorCode{Value: v}
	}
	return p
}

// simpleQuantity writes a quantity that cannot have a comparator.
func (w *messageWriter) simpleQuantity(q *Quantity) *dpb.SimpleQuantity {
	if *q == (Quantity{}) {
		return nil
	}
	if q.Comparator != "" {
		w.unwritable("comparator")
	}
	return &dpb.SimpleQuantity{
		Value:  w.decimal("value", q.Value),
		Unit:   w.str(q.Unit),
		System: w.uri(q.System),
		Code:   w.code(q.Code),
	}
}

func (w *messageWriter) period(p *Period) *dpb.Period {
	if *p == (Period{}) {
		return nil
	}
	return &dpb.Period{Start: w.dateTime("start", p.Start), End: w.dateTime("end", p.End)}
}

func (w *messageWriter) annotation(a *Annotation) *dpb.Annotation {
	if a.Text == "" {
		return nil
	}
	return &dpb.Annotation{Text: markdownOf(a.Text)}
}

func (w *messageWriter) annotationList(as []Annotation) []*dpb.Annotation {
	return messageChildren(w, "note", as, (*messageWriter).annotation)
}

func (w *messageWriter) attachment(a *Attachment) *dpb.Attachment {
	p := &dpb.Attachment{
		Language: w.code(a.Language),
		Title:    w.str(a.Title),
		Creation: w.dateTime("creation", a.Creation),
	}
	if a.ContentType != "" {
		p.ContentType = &dpb.Attachment_ContentTypeCode{Value: a.ContentType}
	}
	if len(a.Data) > 0 {
		p.Data = &dpb.Base64Binary{Value: a.Data}
	}
	return p
}

func (w *messageWriter) extension(e *Extension) *dpb.Extension {
	return &dpb.Extension{
		Url:       w.uri(e.URL),
		Value:     w.extensionValue(e.Value),
		Extension: w.extensionList("extension", e.Extension),
	}
}

func (w *messageWriter) extensionList(name string, es []Extension) []*dpb.Extension {
	return messageChildren(w, name, es, (*messageWriter).extension)
}
