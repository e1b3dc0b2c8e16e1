package fhirproto

import (
	"bytes"
	"math"

	"google.golang.org/protobuf/encoding/protowire"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
)

// Where primitives have their extensions: behind an id, which stands behind the three
// fields of a time and the one of all others.
const (
	primitiveExtension protowire.Number = 3
	momentExtension    protowire.Number = 5
	noExtension        protowire.Number = 0 // of a narrative's div
)

// noValueURL marks a primitive of the protocol buffers that has extensions and
// no value, which JSON writes as "_name" without "name".
const noValueURL = "https://g.co/fhir/StructureDefinition/primitiveHasNoValue"

// hasNoValue reports whether a primitive is marked as having no value, in the field
// that has its extensions.
func (r *reader) hasNoValue(m message, extension protowire.Number) bool {
	const url protowire.Number = 2 // of an Extension
	for o, ok := r.next(&m); ok; o, ok = r.next(&m) {
		if o.number != extension || o.kind != protowire.BytesType {
			continue
		}
		if f := r.oneof(o.bytes, url, url); r.characters(f.whole()) == noValueURL {
			return true
		}
	}
	return false
}

// characters is the value of a primitive whose value is text.
func (r *reader) characters(m message) string { return r.charactersOf(m, primitiveValue) }

// charactersOf is a field of a message that is text.
func (r *reader) charactersOf(m message, number protowire.Number) (value string) {
	for o, ok := r.next(&m); ok; o, ok = r.next(&m) {
		if o.number == number && o.kind == protowire.BytesType {
			value = r.text(o)
		}
	}
	return value
}

// valueOf is the value of a primitive as it occurs last; nothing of one that is absent.
func (r *reader) valueOf(f *field, kind protowire.Type) (value occurrence) {
	m := f.whole()
	for o, ok := r.next(&m); ok; o, ok = r.next(&m) {
		if o.number == primitiveValue && o.kind == kind {
			value = o
		}
	}
	return value
}

// number is the value of a primitive whose value is a number; 0 of one that is absent.
func (r *reader) number(f *field) uint64 { return r.valueOf(f, protowire.VarintType).varint }

// data is the value of a Base64Binary.
func (r *reader) data(f *field) []byte { return bytes.Clone(r.valueOf(f, protowire.BytesType).bytes) }

func (r *reader) canonical(name string, f *field) string { return r.uri(name, f) }

func (r *reader) code(name string, f *field) string {
	return r.checked(name, f, lexical.IsCodeText, lexical.ExpectedCode)
}

func (r *reader) id(name string, f *field) string {
	return r.checked(name, f, lexical.IsID, lexical.ExpectedID)
}

func (r *reader) markdown(name string, f *field) string { return r.str(name, f) }

func (r *reader) str(name string, f *field) string {
	return r.checked(name, f, lexical.IsText, lexical.ExpectedText)
}

func (r *reader) uri(name string, f *field) string {
	return r.checked(name, f, lexical.IsURIText, lexical.ExpectedURI)
}

// checked reads a text whose form is checked.
func (r *reader) checked(name string, f *field, valid func(string) bool, expected string) string {
	return r.checkedIn(primitiveValue, name, f, valid, expected)
}

// checkedIn is checked for a text that stands in a field of the primitive.
func (r *reader) checkedIn(number protowire.Number, name string, f *field, valid func(string) bool, expected string) string {
	if f.count == 0 {
		return ""
	}
	m := f.whole()
	value := r.charactersOf(m, number)
	if value == "" || !valid(value) {
		r.badText(name, value, m, primitiveExtension, expected)
	}
	return value
}

func (r *reader) div(name string, f *field) string {
	if f.count == 0 {
		return ""
	}
	value := r.characters(f.whole())
	if !lexical.IsDivText(value) {
		r.badText(name, value, nil, noExtension, lexical.ExpectedDiv)
	}
	return value
}

// badText reports a text that is empty or fails the check of its type.
func (r *reader) badText(name, value string, m message, extension protowire.Number, expected string) {
	switch {
	case value != "":
		r.bad(fault.BadValue, name, "expected "+expected, "found "+lexical.Quote(value))
	case !r.hasNoValue(m, extension):
		r.report(fault.Structure, name, "found an empty string; expected the element to be absent")
	}
}

// primitives reads a repeated primitive. One without a value, whose place holds
// extensions only, is passed over.
func primitives(r *reader, name string, f *field, read func(*reader, string, *field) string) []string {
	if f.count == 0 || !takes[string](r, name, f.count) {
		return nil
	}
	texts := r.lists.Take(f.count)[:0]
	i := 0
	for m := range f.each() {
		if r.enter(name, i) {
			if text := read(r, "", &field{count: 1, latest: m}); text != "" {
				texts = append(texts, text)
			}
		}
		r.leave()
		i++
	}
	if len(texts) == 0 {
		return nil
	}
	return texts
}

func (r *reader) decimal(name string, f *field) fhir.Decimal {
	if f.count == 0 {
		return ""
	}
	m := f.whole()
	value := r.characters(m)
	if value == "" && r.hasNoValue(m, primitiveExtension) {
		return ""
	}
	if !lexical.IsNumber(value) || !lexical.IsDecimal(value) {
		r.bad(fault.BadValue, name,
			"expected "+lexical.ExpectedDecimal,
			"found "+lexical.Quote(value))
	}
	return fhir.Decimal(value)
}

func (r *reader) booleanValue(f *field) fhir.Value {
	if f.count == 0 || r.hasNoValue(f.whole(), primitiveExtension) {
		return nil
	}
	return fhir.Boolean(r.number(f) != 0)
}

func (r *reader) integerValue(f *field) fhir.Value {
	if f.count == 0 || r.hasNoValue(f.whole(), primitiveExtension) {
		return nil
	}
	return fhir.Integer(protowire.DecodeZigZag(r.number(f) & math.MaxUint32))
}

func (r *reader) date(name string, f *field) string {
	return r.moment(name, f, datePrecisions[:])
}

func (r *reader) dateTime(name string, f *field) string {
	return r.moment(name, f, dateTimePrecisions[:])
}

func (r *reader) instant(name string, f *field) string {
	return r.moment(name, f, instantPrecisions[:])
}

// moment reads a time that is of one of the precisions.
func (r *reader) moment(name string, f *field, precisions []precision) string {
	if f.count == 0 {
		return ""
	}
	whole := f.whole()
	m := r.momentOf(whole, precisions)
	text, ok := m.text(&r.zones)
	if !ok && (m.precision != noPrecision || !r.hasNoValue(whole, momentExtension)) {
		r.report(fault.BadValue, name,
			"expected a time with a precision, in the years 0001 to 9999, in the zone Z, an offset of at most 14 hours or a zone of the IANA database")
	}
	return text
}

// The fields of the three messages of times.
const (
	momentMicros    protowire.Number = 1
	momentZone      protowire.Number = 2
	momentPrecision protowire.Number = 3
)

func (r *reader) momentOf(m message, precisions []precision) (t moment) {
	for o, ok := r.next(&m); ok; o, ok = r.next(&m) {
		switch {
		case o.number == momentMicros && o.kind == protowire.VarintType:
			t.micros = int64(o.varint)
		case o.number == momentZone && o.kind == protowire.BytesType:
			t.zone = r.text(o)
		case o.number == momentPrecision && o.kind == protowire.VarintType:
			t.precision = precisionOf(precisions, int32(o.varint))
		}
	}
	return t
}

// requiredCode reads a code with a required binding, which the protocol buffers hold
// as the number of its place in the value set.
func (r *reader) requiredCode(name string, f *field, table codes) string {
	if f.count == 0 {
		return ""
	}
	text := table.text(int32(r.number(f)))
	if text == "" && !r.hasNoValue(f.whole(), primitiveExtension) {
		r.report(fault.BadValue, name, "found no code of the value set; expected one")
	}
	return text
}

// openCode reads a code that is bound to more than an enum can hold, which has its
// value in another field than other primitives.
func (r *reader) openCode(name string, f *field) string {
	return r.checkedIn(openCodeValue, name, f, lexical.IsCodeText, lexical.ExpectedCode)
}
