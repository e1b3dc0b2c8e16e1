package fhirproto

import (
	"unicode/utf8"

	"google.golang.org/protobuf/encoding/protowire"

	"evenreach.example/internal/fault"
)

// A message is the bytes of one: its fields, each behind its tag, in any order.
//
// A field that is not repeated may occur several times. proto.Unmarshal merges what
// such a field of a message holds, which gives the message that their bytes have one
// behind the other; of other fields the last one counts, and so it does of a oneof.
// Fields that are not known, or of another type than is known, are passed over.
//
// Source: Protocol Buffers, encoding, and proto.Unmarshal.
type message []byte

// layout says which fields of a message are read: by the number of a field its place
// among those that are, counted from 1.
type layout []uint8

// field is what a message has of one of its fields that hold a message.
type field struct {
	number protowire.Number
	count  int     // of occurrences
	latest message // what the latest one holds
	rest   message // from the first one on
}

// occurrence is one field of a message.
type occurrence struct {
	number protowire.Number
	kind   protowire.Type
	varint uint64  // of the kind VarintType
	bytes  message // of the kind BytesType
}

// next takes the field that a message begins with. It reports false at the end, and for
// what is no message.
func (r *reader) next(m *message) (o occurrence, ok bool) {
	if len(*m) == 0 || r.malformed != nil {
		return o, false
	}
	if o, ok := short(m); ok {
		return o, true
	}
	var n int
	if o.number, o.kind, n = protowire.ConsumeTag(*m); n < 0 || o.number > protowire.MaxValidNumber {
		r.broken(notMessage)
		return o, false
	}
	*m = (*m)[n:]
	switch o.kind {
	case protowire.BytesType:
		o.bytes, n = protowire.ConsumeBytes(*m)
	case protowire.VarintType:
		o.varint, n = protowire.ConsumeVarint(*m)
	default:
		n = protowire.ConsumeFieldValue(o.number, o.kind, *m)
	}
	if n < 0 {
		r.broken(notMessage)
		return o, false
	}
	*m = (*m)[n:]
	return o, true
}

// short is next for most fields: those whose tag and length take one byte each.
func short(m *message) (o occurrence, ok bool) {
	b := *m
	if len(b) < 2 || b[0] >= 1<<7 || b[0] < 1<<3 || protowire.Type(b[0]&7) != protowire.BytesType || b[1] >= 1<<7 {
		return o, false
	}
	end := 2 + int(b[1])
	if end > len(b) {
		return o, false
	}
	*m = b[end:]
	return occurrence{number: protowire.Number(b[0] >> 3), kind: protowire.BytesType, bytes: b[2:end]}, true
}

// split finds the fields that are read, and reports false for what is no message.
func (r *reader) split(m message, l layout, fields []field) bool {
	for {
		from := m
		o, ok := r.next(&m)
		if !ok {
			return r.malformed == nil
		}
		if o.kind == protowire.BytesType && int(o.number) < len(l) && l[o.number] > 0 {
			fields[l[o.number]-1].add(o, from)
		}
	}
}

// oneof finds the field of a oneof that counts, which has no number if there is none.
// The fields of the oneof are those from the first to the last number.
func (r *reader) oneof(m message, first, last protowire.Number) (f field) {
	for {
		from := m
		o, ok := r.next(&m)
		if !ok {
			return f
		}
		if o.kind == protowire.BytesType && o.number >= first && o.number <= last {
			f.add(o, from)
		}
	}
}

// add adds an occurrence, with which the rest of the message begins. One of another
// number takes the place of all before.
func (f *field) add(o occurrence, rest message) {
	if f.number != o.number {
		*f = field{number: o.number, rest: rest}
	}
	f.count++
	f.latest = o.bytes
}

// whole is the message that the occurrences of a field make together.
func (f *field) whole() message {
	if f.count <= 1 {
		return f.latest
	}
	var all message
	for part := range f.each() {
		all = append(all, part...)
	}
	return all
}

// each gives what each of the occurrences holds.
func (f *field) each() func(yield func(message) bool) {
	return func(yield func(message) bool) {
		rest := f.rest
		for range f.count {
			var holds []byte
			for holds == nil {
				number, kind, n := protowire.ConsumeTag(rest)
				size := protowire.ConsumeFieldValue(number, kind, rest[n:])
				if number == f.number && kind == protowire.BytesType {
					holds, _ = protowire.ConsumeBytes(rest[n:])
				}
				rest = rest[n+size:]
			}
			if !yield(holds) {
				return
			}
		}
	}
}

// text is a field of characters.
func (r *reader) text(o occurrence) string {
	if !utf8.Valid(o.bytes) {
		r.broken("found bytes that are no UTF-8; expected text")
	}
	return r.texts.Of(o.bytes)
}

const notMessage = "found bytes that are no message of protocol buffers; expected one"

// broken ends the reading: what the bytes hold is not known.
func (r *reader) broken(detail string) {
	if r.malformed == nil {
		r.malformed = &fault.Issue{Severity: fault.Fatal, Kind: fault.Syntax, Path: r.path(""), Detail: detail}
	}
}

// names are the names of the fields of a oneof.
type names struct {
	first, last protowire.Number
	of          []string // from the first on
}

func (n names) name(number protowire.Number) string { return n.of[number-n.first] }
