package fhirproto

import (
	"slices"
	"unicode/utf8"

	"google.golang.org/protobuf/encoding/protowire"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
)

// A primitive is a message too, because in FHIR it may have extensions. Its
// value is nearly always in the field primitiveValue.
const primitiveValue protowire.Number = 1

// text writes a primitive whose value is a string: a String, Code, Uri, Id,
// Canonical, Markdown or Xhtml.
func (w *writer) text(number protowire.Number, name, s string) {
	if s == "" {
		return
	}
	const tagAndLength = 2
	if number <= 15 && len(s) < 1<<7-tagAndLength && utf8.ValidString(s) {
		// The short way of most: both tags and both lengths take one byte each.
		const inBytes = byte(protowire.BytesType)
		w.out = append(w.out, byte(number)<<3|inBytes, byte(len(s)+tagAndLength), byte(primitiveValue)<<3|inBytes, byte(len(s)))
		w.out = append(w.out, s...)
		return
	}
	length := protowire.SizeTag(primitiveValue) + protowire.SizeBytes(len(s))
	w.out = appendVarint(appendTag(w.out, number), uint64(length))
	w.characters(primitiveValue, name, s)
}

// texts writes a repeated primitive whose value is a string.
func (w *writer) texts(number protowire.Number, name string, list []string) {
	for i, s := range list {
		w.enter(name, i)
		w.text(number, "", s)
		w.leave()
	}
}

func (w *writer) decimal(number protowire.Number, name string, d fhir.Decimal) {
	if d != "" && !lexical.IsNumber(string(d)) {
		w.report(fault.Internal, name, "found no decimal to write; expected one")
		return
	}
	w.text(number, name, string(d))
}

// integer writes an Integer. Methods that can report nothing have no use for the
// name.
func (w *writer) integer(number protowire.Number, _ string, i int32) {
	w.numeric(number, protowire.EncodeZigZag(int64(i)))
}

// boolean writes a Boolean, also one that is false.
func (w *writer) boolean(number protowire.Number, _ string, b bool) {
	w.numeric(number, protowire.EncodeBool(b))
}

// flag writes a Boolean whose absence means false.
func (w *writer) flag(number protowire.Number, name string, b bool) {
	if b {
		w.boolean(number, name, b)
	}
}

// count writes an UnsignedInt whose absence means 0.
func (w *writer) count(number protowire.Number, _ string, n uint32) {
	if n > 0 {
		w.numeric(number, uint64(n))
	}
}

// numeric writes a primitive whose value is a number; that of 0 has no fields.
func (w *writer) numeric(number protowire.Number, v uint64) {
	m := w.open(number)
	w.varint(primitiveValue, v)
	w.close(m)
}

func (w *writer) date(number protowire.Number, name, text string) {
	w.moment(number, name, text, datePrecisions[:])
}

func (w *writer) dateTime(number protowire.Number, name, text string) {
	w.moment(number, name, text, dateTimePrecisions[:])
}

func (w *writer) instant(number protowire.Number, name, text string) {
	w.moment(number, name, text, instantPrecisions[:])
}

// moment writes a time that must be of one of the precisions. The three
// messages of times have the same fields.
func (w *writer) moment(number protowire.Number, name, text string, precisions []precision) {
	if text == "" {
		return
	}
	t, ok := parseMoment(text)
	precision := slices.Index(precisions, t.precision)
	if !ok || precision <= 0 {
		w.report(fault.Internal, name, "found no time of its type to write; expected one")
		return
	}
	m := w.open(number)
	w.varint(momentMicros, uint64(t.micros))
	w.characters(momentZone, name, t.zone)
	w.varint(momentPrecision, uint64(precision))
	w.close(m)
}

// code writes a code with a required binding, and notes one that is not in its
// value set.
func (w *writer) code(number protowire.Number, name, text string, table codes) {
	if text == "" {
		return
	}
	value, ok := table.value(text)
	if !ok {
		w.report(fault.Internal, name, "found a code that is not in the value set; expected one that is")
		return
	}
	w.numeric(number, uint64(value))
}

// openCodeValue is where the message of a code has its value that is bound to more
// than an enum can hold: at the end.
const openCodeValue protowire.Number = 4

// openCode writes such a code.
func (w *writer) openCode(number protowire.Number, name, code string) {
	if code == "" {
		return
	}
	m := w.open(number)
	w.characters(openCodeValue, name, code)
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
