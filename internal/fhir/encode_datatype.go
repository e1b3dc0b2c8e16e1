package fhir

import (
	"encoding/base64"
	"strconv"
)

func (e *encoder) meta(m *Meta) {
	e.text("versionId", m.VersionID)
	e.text("lastUpdated", m.LastUpdated)
	e.text("source", m.Source)
	e.texts("profile", m.Profile)
	arrayMember(e, "tag", m.Tag, (*encoder).codingMembers)
}

func (e *encoder) narrative(n *Narrative) {
	e.text("status", n.Status)
	e.text("div", n.Div)
}

func (e *encoder) codingMembers(c *Coding) {
	e.text("system", c.System)
	e.text("version", c.Version)
	e.text("code", c.Code)
	e.text("display", c.Display)
}

func (e *encoder) conceptMembers(c *CodeableConcept) {
	e.extensions("extension", c.Extension)
	arrayMember(e, "coding", c.Coding, (*encoder).codingMembers)
	e.text("text", c.Text)
}

func (e *encoder) concept(name string, c *CodeableConcept) {
	objectMember(e, name, c, (*encoder).conceptMembers)
}

func (e *encoder) concepts(name string, list []CodeableConcept) {
	arrayMember(e, name, list, (*encoder).conceptMembers)
}

func (e *encoder) referenceMembers(r *Reference) {
	e.text("reference", r.Reference)
	e.text("type", r.TypeName)
	objectMember(e, "identifier", r.Identifier, (*encoder).identifierMembers)
	e.text("display", r.Display)
}

func (e *encoder) reference(name string, r *Reference) {
	objectMember(e, name, r, (*encoder).referenceMembers)
}

func (e *encoder) references(name string, list []Reference) {
	arrayMember(e, name, list, (*encoder).referenceMembers)
}

func (e *encoder) identifierMembers(i *Identifier) {
	e.text("system", i.System)
	e.text("value", i.Value)
}

func (e *encoder) quantityMembers(q *Quantity) {
	e.literal("value", string(q.Value))
	e.text("comparator", q.Comparator)
	e.text("unit", q.Unit)
	e.text("system", q.System)
	e.text("code", q.Code)
}

func (e *encoder) quantity(name string, q *Quantity) {
	objectMember(e, name, q, (*encoder).quantityMembers)
}

func (e *encoder) periodMembers(p *Period) {
	e.text("start", p.Start)
	e.text("end", p.End)
}

func (e *encoder) period(name string, p *Period) { objectMember(e, name, p, (*encoder).periodMembers) }

func (e *encoder) annotation(a *Annotation) { e.text("text", a.Text) }

func (e *encoder) notes(list []Annotation) { arrayMember(e, "note", list, (*encoder).annotation) }

func (e *encoder) attachment(a *Attachment) {
	e.text("contentType", a.ContentType)
	e.text("language", a.Language)
	if len(a.Data) > 0 {
		e.name("data")
		e.out = append(e.out, '"')
		e.out = base64.StdEncoding.AppendEncode(e.out, a.Data)
		e.out = append(e.out, '"')
	}
	e.text("title", a.Title)
	e.text("creation", a.Creation)
}

func (e *encoder) extension(x *Extension) {
	e.extensions("extension", x.Extension)
	e.text("url", x.URL)
	e.choice("value", x.Value)
}

func (e *encoder) extensions(name string, list []Extension) {
	arrayMember(e, name, list, (*encoder).extension)
}

// choice writes a choice element under its name followed by the type.
func (e *encoder) choice(element string, v Value) {
	switch v := v.(type) {
	case *Quantity:
		e.quantity(element+"Quantity", v)
	case *CodeableConcept:
		e.concept(element+"CodeableConcept", v)
	case *Coding:
		objectMember(e, element+"Coding", v, (*encoder).codingMembers)
	case *Reference:
		e.reference(element+"Reference", v)
	case *Period:
		e.period(element+"Period", v)
	case String:
		e.text(element+"String", string(v))
	case Code:
		e.text(element+"Code", string(v))
	case URI:
		e.text(element+"Uri", string(v))
	case Canonical:
		e.text(element+"Canonical", string(v))
	case DateTime:
		e.text(element+"DateTime", string(v))
	case Date:
		e.text(element+"Date", string(v))
	case Instant:
		e.text(element+"Instant", string(v))
	case Integer:
		e.literal(element+"Integer", strconv.Itoa(int(v)))
	case Boolean:
		e.literal(element+"Boolean", strconv.FormatBool(bool(v)))
	}
}

// flag writes a boolean whose absence means false.
func (e *encoder) flag(name string, set bool) {
	if set {
		e.literal(name, "true")
	}
}
