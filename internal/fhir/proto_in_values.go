package fhir

import (
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
)

func (r *reader) meta(p *dpb.Meta) Meta {
	return Meta{
		VersionID:   r.id("versionId", p.VersionId),
		LastUpdated: r.instant("lastUpdated", p.LastUpdated),
		Source:      r.uri("source", p.Source),
		Profile:     r.canonicals("profile", p.Profile),
		Tag:         repeated(r, &r.codings, "tag", p.Tag, (*reader).coding),
	}
}

func (r *reader) narrative(p *dpb.Narrative) Narrative {
	n := Narrative{
		Status: readCode(r, "status", p.Status, narrativeStatuses),
		Div:    r.div("div", p.Div),
	}
	r.require(n.Status != "", "status")
	r.require(n.Div != "", "div")
	return n
}

func (r *reader) coding(p *dpb.Coding) Coding {
	return Coding{
		System:  r.uri("system", p.System),
		Version: r.str("version", p.Version),
		Code:    r.code("code", p.Code),
		Display: r.str("display", p.Display),
	}
}

func (r *reader) concept(p *dpb.CodeableConcept) CodeableConcept {
	return CodeableConcept{
		Extension: r.extensionList("extension", p.Extension),
		Coding:    repeated(r, &r.codings, "coding", p.Coding, (*reader).coding),
		Text:      r.str("text", p.Text),
	}
}

func (r *reader) conceptOf(name string, p *dpb.CodeableConcept) *CodeableConcept {
	return optional(r, &r.concepts, name, p, (*reader).concept)
}

func (r *reader) conceptList(name string, ps []*dpb.CodeableConcept) []CodeableConcept {
	return repeated(r, &r.concepts, name, ps, (*reader).concept)
}

func (r *reader) identifier(p *dpb.Identifier) Identifier {
	return Identifier{System: r.uri("system", p.System), Value: r.str("value", p.Value)}
}

func (r *reader) quantity(p *dpb.Quantity) Quantity {
	return Quantity{
		Value:      r.decimal("value", p.Value),
		Comparator: readCode(r, "comparator", p.Comparator, comparators),
		Unit:       r.str("unit", p.Unit),
		System:     r.uri("system", p.System),
		Code:       r.code("code", p.Code),
	}
}

// simpleQuantity reads a quantity that cannot have a comparator.
func (r *reader) simpleQuantity(p *dpb.SimpleQuantity) Quantity {
	return Quantity{
		Value:  r.decimal("value", p.Value),
		Unit:   r.str("unit", p.Unit),
		System: r.uri("system", p.System),
		Code:   r.code("code", p.Code),
	}
}

func (r *reader) period(p *dpb.Period) Period {
	return Period{Start: r.dateTime("start", p.Start), End: r.dateTime("end", p.End)}
}

func (r *reader) annotation(p *dpb.Annotation) Annotation {
	a := Annotation{Text: r.markdown("text", p.Text)}
	r.require(a.Text != "", "text")
	return a
}

func (r *reader) extension(p *dpb.Extension) Extension {
	e := Extension{
		URL:       r.uri("url", p.Url),
		Value:     r.extensionValue(p.Value),
		Extension: r.extensionList("extension", p.Extension),
	}
	r.require(e.URL != "", "url")
	return e
}

func (r *reader) extensionList(name string, ps []*dpb.Extension) []Extension {
	return repeated(r, &r.extensions, name, ps, (*reader).extension)
}
