package fhir

import (
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
)

func (w *writer) meta(m *Meta) *dpb.Meta {
	return &dpb.Meta{
		VersionId:   idOf(m.VersionID),
		LastUpdated: w.instant("lastUpdated", m.LastUpdated),
		Source:      w.uri(m.Source),
		Profile:     canonicalsOf(m.Profile),
		Tag:         children(w, "tag", m.Tag, (*writer).coding),
	}
}

func (w *writer) narrative(n *Narrative) *dpb.Narrative {
	p := &dpb.Narrative{Div: xhtmlOf(n.Div)}
	if v, ok := writeCode(w, "status", n.Status, narrativeStatuses); ok {
		p.Status = &dpb.Narrative_StatusCode{Value: v}
	}
	return p
}

func (w *writer) coding(c *Coding) *dpb.Coding {
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

func (w *writer) concept(c *CodeableConcept) *dpb.CodeableConcept {
	if c.isEmpty() {
		return nil
	}
	p := w.made.concepts.One()
	p.Extension = w.extensionList("extension", c.Extension)
	p.Coding = children(w, "coding", c.Coding, (*writer).coding)
	p.Text = w.str(c.Text)
	return p
}

func (w *writer) conceptOf(name string, c *CodeableConcept) *dpb.CodeableConcept {
	return child(w, name, c, (*writer).concept)
}

func (w *writer) conceptList(name string, cs []CodeableConcept) []*dpb.CodeableConcept {
	return children(w, name, cs, (*writer).concept)
}

func (w *writer) identifier(i *Identifier) *dpb.Identifier {
	if *i == (Identifier{}) {
		return nil
	}
	return &dpb.Identifier{System: w.uri(i.System), Value: w.str(i.Value)}
}

func (w *writer) reference(r *Reference) *dpb.Reference {
	if r.isEmpty() {
		return nil
	}
	p := w.made.references.One()
	p.Type = w.uri(r.TypeName)
	p.Identifier = child(w, "identifier", r.Identifier, (*writer).identifier)
	p.Display = w.str(r.Display)
	w.setReference(p, r.Reference)
	return p
}

func (w *writer) referenceOf(name string, r *Reference) *dpb.Reference {
	return child(w, name, r, (*writer).reference)
}

func (w *writer) referenceList(name string, rs []Reference) []*dpb.Reference {
	return children(w, name, rs, (*writer).reference)
}

func (w *writer) quantity(q *Quantity) *dpb.Quantity {
	if *q == (Quantity{}) {
		return nil
	}
	p := w.made.quantities.One()
	p.Value = w.decimal("value", q.Value)
	p.Unit = w.str(q.Unit)
	p.System = w.uri(q.System)
	p.Code = w.code(q.Code)
	if v, ok := writeCode(w, "comparator", q.Comparator, comparators); ok {
		p.Comparator = &dpb.Quantity_ComparatorCode{Value: v}
	}
	return p
}

// simpleQuantity writes a quantity that cannot have a comparator.
func (w *writer) simpleQuantity(q *Quantity) *dpb.SimpleQuantity {
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

func (w *writer) period(p *Period) *dpb.Period {
	if *p == (Period{}) {
		return nil
	}
	return &dpb.Period{Start: w.dateTime("start", p.Start), End: w.dateTime("end", p.End)}
}

func (w *writer) annotation(a *Annotation) *dpb.Annotation {
	if a.Text == "" {
		return nil
	}
	return &dpb.Annotation{Text: markdownOf(a.Text)}
}

func (w *writer) annotationList(as []Annotation) []*dpb.Annotation {
	return children(w, "note", as, (*writer).annotation)
}

func (w *writer) attachment(a *Attachment) *dpb.Attachment {
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

func (w *writer) extension(e *Extension) *dpb.Extension {
	return &dpb.Extension{
		Url:       w.uri(e.URL),
		Value:     w.extensionValue(e.Value),
		Extension: w.extensionList("extension", e.Extension),
	}
}

func (w *writer) extensionList(name string, es []Extension) []*dpb.Extension {
	return children(w, name, es, (*writer).extension)
}
