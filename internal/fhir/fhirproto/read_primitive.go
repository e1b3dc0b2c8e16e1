package fhirproto

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
)

// noValueURL marks a primitive of the protocol buffers that has extensions and
// no value, which JSON writes as "_name" without "name".
const noValueURL = "https://g.co/fhir/StructureDefinition/primitiveHasNoValue"

// hasNoValue reports whether a primitive is marked as having no value.
func hasNoValue(extensions []*dpb.Extension) bool {
	for _, e := range extensions {
		if e.GetUrl().GetValue() == noValueURL {
			return true
		}
	}
	return false
}

// badText reports a text that is empty or fails the check of its type.
func (r *reader) badText(name, value string, extensions []*dpb.Extension, expected string) {
	switch {
	case value != "":
		r.bad(fault.BadValue, name, "expected "+expected, "found "+lexical.Quote(value))
	case !hasNoValue(extensions):
		r.report(fault.Structure, name, "found an empty string; expected the element to be absent")
	}
}

// primitives reads a repeated primitive. One without a value, whose place holds
// extensions only, is passed over.
func primitives[P any](r *reader, name string, ps []*P, read func(*reader, string, *P) string) []string {
	if len(ps) == 0 {
		return nil
	}
	texts := r.texts.Take(len(ps))[:0]
	for i, p := range ps {
		if r.enter(name, i) {
			if text := read(r, "", p); text != "" {
				texts = append(texts, text)
			}
		}
		r.leave()
	}
	if len(texts) == 0 {
		return nil
	}
	return texts
}

func (r *reader) decimal(name string, p *dpb.Decimal) fhir.Decimal {
	if p == nil || p.Value == "" && hasNoValue(p.Extension) {
		return ""
	}
	if !lexical.IsNumber(p.Value) || !lexical.IsDecimal(p.Value) {
		r.bad(fault.BadValue, name,
			"expected "+lexical.ExpectedDecimal,
			"found "+lexical.Quote(p.Value))
	}
	return fhir.Decimal(p.Value)
}

func booleanValue(p *dpb.Boolean) fhir.Value {
	if p == nil || hasNoValue(p.Extension) {
		return nil
	}
	return fhir.Boolean(p.Value)
}

func integerValue(p *dpb.Integer) fhir.Value {
	if p == nil || hasNoValue(p.Extension) {
		return nil
	}
	return fhir.Integer(p.Value)
}

func (r *reader) date(name string, p *dpb.Date) string {
	if p == nil {
		return ""
	}
	return r.moment(name, moment{p.ValueUs, p.Timezone, precisionOf(datePrecisions[:], p.Precision)}, p.Extension)
}

func (r *reader) dateTime(name string, p *dpb.DateTime) string {
	if p == nil {
		return ""
	}
	return r.moment(name, moment{p.ValueUs, p.Timezone, precisionOf(dateTimePrecisions[:], p.Precision)}, p.Extension)
}

func (r *reader) instant(name string, p *dpb.Instant) string {
	if p == nil {
		return ""
	}
	return r.moment(name, moment{p.ValueUs, p.Timezone, precisionOf(instantPrecisions[:], p.Precision)}, p.Extension)
}

func (r *reader) moment(name string, m moment, extensions []*dpb.Extension) string {
	text, ok := m.text(&r.zones)
	if !ok && (m.precision != noPrecision || !hasNoValue(extensions)) {
		r.report(fault.BadValue, name,
			"expected a time with a precision, in the years 0001 to 9999, in the zone Z, an offset of at most 14 hours or a zone of the IANA database")
	}
	return text
}

// coded is a code with a required binding: a message around an enum, or around a
// text.
type coded[E any] interface {
	comparable
	GetValue() E
	GetExtension() []*dpb.Extension
}

// readCode reads a code with a required binding as its FHIR text.
func readCode[E ~int32, P coded[E]](r *reader, name string, p P, table codes) string {
	var absent P
	if p == absent {
		return ""
	}
	text := table.text(int32(p.GetValue()))
	if text == "" && !hasNoValue(p.GetExtension()) {
		r.report(fault.BadValue, name, "found no code of the value set; expected one")
	}
	return text
}

// openCode reads a code that is bound to more than an enum can hold.
func openCode[P coded[string]](r *reader, name string, p P) string {
	var absent P
	if p == absent {
		return ""
	}
	return r.code(name, &dpb.Code{Value: p.GetValue(), Extension: p.GetExtension()})
}
