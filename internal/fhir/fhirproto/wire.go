package fhirproto

import (
	"unicode/utf8"

	"google.golang.org/protobuf/encoding/protowire"

	"evenreach.example/internal/fault"
)

// A message within another one is a tag, a length and its fields. The length is
// known when the fields are written, so room is left for it, and the fields move
// if it takes more or less.

// lengthRoom is the room for a length. Two bytes serve a message of 128 to
// 16,383 bytes, as most are that have messages in them; to move a short one costs
// little, and long ones are few.
const lengthRoom = 2

// opened is a message whose fields are being written.
type opened struct {
	tag    int // where its tag stands
	fields int // where its fields begin
}

// open begins a message that is a field of the one before.
func (w *writer) open(number protowire.Number) opened {
	tag := len(w.out)
	w.tag(number)
	w.out = append(w.out, 0, 0) // lengthRoom
	return opened{tag, len(w.out)}
}

// close ends a message: most take one byte of the room, and nearly all others
// both.
func (w *writer) close(m opened) {
	length := len(w.out) - m.fields
	begin := m.fields - lengthRoom
	if length < 1<<7 {
		w.out[begin] = byte(length)
		copy(w.out[begin+1:], w.out[m.fields:])
		w.out = w.out[:begin+1+length]
		return
	}
	end := begin + protowire.SizeVarint(uint64(length))
	if end > m.fields {
		w.out = append(w.out, make([]byte, end-m.fields)...)
		copy(w.out[end:], w.out[m.fields:m.fields+length])
	}
	protowire.AppendVarint(w.out[:begin], uint64(length))
	w.out = w.out[:end+length]
}

// closeUnlessEmpty ends a message, or takes it back if it has no fields: FHIR
// knows no element without content.
func (w *writer) closeUnlessEmpty(m opened) {
	if len(w.out) == m.fields {
		w.out = w.out[:m.tag]
		return
	}
	w.close(m)
}

// tag begins a field that has a length.
func (w *writer) tag(number protowire.Number) { w.out = appendTag(w.out, number) }

// appendTag is protowire.AppendTag for such a field, with a short way for the
// numbers below 2,048, which are all that FHIR has.
func appendTag(out []byte, number protowire.Number) []byte {
	tag := protowire.EncodeTag(number, protowire.BytesType)
	switch {
	case tag < 1<<7:
		return append(out, byte(tag))
	case tag < 1<<14:
		return append(out, byte(tag)|1<<7, byte(tag>>7))
	}
	return protowire.AppendVarint(out, tag)
}

// appendVarint is protowire.AppendVarint with a short way for what takes one
// byte, as most do.
func appendVarint(out []byte, v uint64) []byte {
	if v < 1<<7 {
		return append(out, byte(v))
	}
	return protowire.AppendVarint(out, v)
}

// bytes writes a field of bytes.
func (w *writer) bytes(number protowire.Number, b []byte) {
	w.tag(number)
	w.out = append(appendVarint(w.out, uint64(len(b))), b...)
}

// characters writes a field of characters, which must be UTF-8. The name is that
// of the element.
func (w *writer) characters(number protowire.Number, name, s string) {
	if !utf8.ValidString(s) {
		w.report(fault.Internal, name, "found bytes that are no UTF-8; expected text")
	}
	out := appendVarint(appendTag(w.out, number), uint64(len(s)))
	w.out = append(out, s...)
}

// varint writes a field of a number, unless it is 0.
func (w *writer) varint(number protowire.Number, v uint64) {
	if v != 0 {
		w.out = appendVarint(w.out, protowire.EncodeTag(number, protowire.VarintType))
		w.out = appendVarint(w.out, v)
	}
}
