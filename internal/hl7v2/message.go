// Package hl7v2 reads and writes messages of HL7 version 2 in the vertical-bar
// encoding (ER7): delimiters, escape sequences, character sets, dates, and the
// acknowledgement. What the segments of a message mean is said elsewhere.
//
// Source: HL7 version 2.9, chapter 2 (control) and 2A (data types); what is read
// has been the same since version 2.3.
package hl7v2

import (
	"bytes"
	"fmt"
	"strings"

	"evenreach.example/internal/fault"
)

// A Message is one message, decoded to UTF-8.
type Message struct {
	Segments []Segment
	// Charset is how the text of the message was encoded.
	Charset Charset
	// Stated reports whether MSH-18 named the character set.
	Stated bool

	delimiters delimiters
}

// delimiters separate what a message is made of.
type delimiters struct {
	field, component, repetition, escape, subcomponent byte // subcomponent and escape are 0 for none
}

// standard are the delimiters that the standard recommends, and that are written.
var standard = delimiters{'|', '^', '~', '\\', '&'}

// maxSegments bounds the work on one message: twice the measurements of the longest
// history that is assessed.
//
// Source: ours.
const maxSegments = 40_000

// Parse reads a message. Segments may end with CR, as the standard asks, or with LF or
// both, as an editor leaves them. The error is always *fault.Errors.
func Parse(data []byte) (*Message, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	d, err := readDelimiters(data)
	if err != nil {
		return nil, err
	}
	m := &Message{delimiters: d}
	text, err := m.decode(data)
	if err != nil {
		return nil, err
	}
	return m, m.split(text)
}

// readDelimiters reads MSH-1 and MSH-2.
func readDelimiters(data []byte) (d delimiters, err error) {
	if !bytes.HasPrefix(data, []byte("MSH")) {
		return d, fault.Refuse(fault.Syntax, "MSH", "found no segment MSH at the start; expected one HL7 version 2 message in the vertical-bar encoding")
	}
	if len(data) < len("MSH|^~") {
		return d, fault.Refuse(fault.Syntax, "MSH[1]-1", "the message ends within its delimiters")
	}
	d.field = data[3]
	encoding, _, _ := bytes.Cut(data[4:min(len(data), 10)], data[3:4])
	if end := bytes.IndexAny(encoding, "\r\n"); end >= 0 {
		encoding = encoding[:end]
	}
	for i, to := range []*byte{&d.component, &d.repetition, &d.escape, &d.subcomponent} {
		if i < len(encoding) {
			*to = encoding[i]
		}
	}
	if !d.usable(encoding) {
		return d, fault.Refuse(fault.Syntax, "MSH[1]-2", `the delimiters are not usable; expected two to five different punctuation characters, such as ^~\&`)
	}
	return d, nil
}

// usable reports whether delimiters can be told apart from each other and from text.
// The fifth encoding character, of version 2.7, marks truncation and is not read.
func (d delimiters) usable(encoding []byte) bool {
	if len(encoding) < 2 || len(encoding) > 5 || !punctuation(d.field) {
		return false
	}
	for i, c := range encoding {
		if !punctuation(c) || c == d.field || bytes.IndexByte(encoding[:i], c) >= 0 {
			return false
		}
	}
	return true
}

func punctuation(c byte) bool {
	return c > ' ' && c < 0x7f && (c < '0' || c > '9') && (c < 'A' || c > 'Z') && (c < 'a' || c > 'z')
}

// split cuts a text into segments.
func (m *Message) split(text string) error {
	count := map[string]int{}
	for line := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == '\r' || r == '\n' }) {
		fields := strings.Split(line, string(rune(m.delimiters.field)))
		name := fields[0]
		if !isSegmentName(name) {
			return fault.Refuse(fault.Syntax, fmt.Sprintf("segment %d", len(m.Segments)+1), "a line does not begin with the name of a segment; expected three capital letters or digits")
		}
		if name == "MSH" && len(m.Segments) > 0 {
			return fault.Refuse(fault.Syntax, "MSH[2]", "found a second message; expected one, and no batch")
		}
		if len(m.Segments) == maxSegments {
			return fault.Refuse(fault.TooLong, "", fmt.Sprintf("the message is over the limit; expected at most %d segments", maxSegments))
		}
		count[name]++
		m.Segments = append(m.Segments, Segment{name, count[name], fields, m})
	}
	return nil
}

// isSegmentName reports whether a text has the form of a segment's name.
func isSegmentName(s string) bool {
	if len(s) != 3 || s[0] < 'A' || s[0] > 'Z' {
		return false
	}
	for i := range len(s) {
		if (s[i] < 'A' || s[i] > 'Z') && (s[i] < '0' || s[i] > '9') {
			return false
		}
	}
	return true
}

// Header is the segment MSH.
func (m *Message) Header() Segment {
	if len(m.Segments) == 0 {
		return Segment{Name: "MSH", Number: 1, message: m}
	}
	return m.Segments[0]
}

// A Segment is one line of a message.
type Segment struct {
	Name string
	// Number counts the segments of a name in the message, from 1.
	Number int

	fields  []string
	message *Message
}

// Field is field n, counted from 1 as in the standard. A field that is not there is
// empty.
func (s Segment) Field(n int) Field {
	f := Field{message: s.message}
	if s.Name == "MSH" {
		n-- // MSH-1 is the delimiter between the name and MSH-2
	}
	if n > 0 && n < len(s.fields) {
		f.raw = s.fields[n]
	}
	return f
}

// Place is how an issue names the segment, such as OBX[3].
func (s Segment) Place() string { return fmt.Sprintf("%s[%d]", s.Name, s.Number) }

// At is how an issue names a field of the segment, such as OBX[3]-5.
func (s Segment) At(field int) string { return fmt.Sprintf("%s-%d", s.Place(), field) }

// A Field is a field, or one repetition of it, as it was sent.
type Field struct {
	raw     string
	message *Message
}

// Empty reports whether the field holds nothing. The null value, two quotation marks,
// asks the receiver to delete what it has, so there is nothing in it either.
func (f Field) Empty() bool { return f.raw == "" || f.raw == null }

const null = `""`

// Repetitions are the repetitions of the field, none if it is empty.
func (f Field) Repetitions() (all []Field) {
	if f.Empty() {
		return nil
	}
	for one := range strings.SplitSeq(f.raw, string(rune(f.message.delimiters.repetition))) {
		all = append(all, Field{one, f.message})
	}
	return all
}

// First is the first repetition.
func (f Field) First() Field {
	f.raw, _, _ = strings.Cut(f.raw, string(rune(f.message.delimiters.repetition)))
	return f
}

// Text is component n of the first repetition, from 1, without its escape sequences:
// its first subcomponent, which is all of it where it has no others.
func (f Field) Text(n int) string { return f.Part(n, 1) }

// Part is a subcomponent of a component of the first repetition, both from 1.
func (f Field) Part(component, subcomponent int) string {
	if f.raw == "" {
		return ""
	}
	text := nth(f.First().raw, f.message.delimiters.component, component)
	text = nth(text, f.message.delimiters.subcomponent, subcomponent)
	if text == null {
		return ""
	}
	return f.message.unescape(text)
}

// nth is part n of a text, from 1; empty if it has fewer. A delimiter of 0 parts nothing.
func nth(text string, delimiter byte, n int) string {
	if delimiter == 0 {
		if n > 1 {
			return ""
		}
		return text
	}
	for ; n > 1; n-- {
		var more bool
		if _, text, more = strings.Cut(text, string(rune(delimiter))); !more {
			return ""
		}
	}
	text, _, _ = strings.Cut(text, string(rune(delimiter)))
	return text
}
