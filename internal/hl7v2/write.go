package hl7v2

import (
	"strings"
)

// A Writer writes a message with the delimiters that the standard recommends, in UTF-8.
// It is zero at the start.
type Writer struct{ b strings.Builder }

// A Value is what a field holds: Text, Composite, List or Copy.
type Value interface{ encode() string }

// Text is a value of one component.
type Text string

// Composite is a value of several components.
type Composite []string

// List is a value that repeats.
type List []Value

// Copy is a field of another message, in its components and subcomponents.
type Copy Field

func (t Text) encode() string { return escaped.Replace(string(t)) }

func (c Composite) encode() string {
	parts := make([]string, len(c))
	for i, part := range c {
		parts[i] = escaped.Replace(part)
	}
	return strings.TrimRight(strings.Join(parts, "^"), "^")
}

func (l List) encode() string {
	parts := make([]string, len(l))
	for i, part := range l {
		parts[i] = part.encode()
	}
	return strings.Join(parts, "~")
}

func (c Copy) encode() string {
	if c.message == nil || c.raw == "" {
		return ""
	}
	return c.message.copied(c.raw)
}

// copied writes a raw field of the message with the standard delimiters.
func (m *Message) copied(raw string) string {
	d := m.delimiters
	return m.joined(raw, d.repetition, "~", func(one string) string {
		return m.joined(one, d.component, "^", func(component string) string {
			return m.joined(component, d.subcomponent, "&", func(text string) string {
				return escaped.Replace(m.unescape(text))
			})
		})
	})
}

// joined splits a text at a delimiter, writes each part and joins them with another.
func (m *Message) joined(text string, delimiter byte, with string, write func(string) string) string {
	if delimiter == 0 {
		return write(text)
	}
	parts := strings.Split(text, string(rune(delimiter)))
	for i, part := range parts {
		parts[i] = write(part)
	}
	return strings.Join(parts, with)
}

// Segment writes a segment. A nil field is empty, and empty ones at the end are left out.
func (w *Writer) Segment(name string, fields ...Value) {
	parts := []string{name}
	for _, f := range fields {
		part := ""
		if f != nil {
			part = f.encode()
		}
		parts = append(parts, part)
	}
	w.b.WriteString(strings.TrimRight(strings.Join(parts, "|"), "|"))
	w.b.WriteByte('\r')
}

// header writes MSH, whose first two fields are the delimiters, from MSH-3 on.
func (w *Writer) header(fields ...Value) {
	w.b.WriteString(`MSH|^~\&|`)
	for i, f := range fields {
		if i > 0 {
			w.b.WriteByte('|')
		}
		if f != nil {
			w.b.WriteString(f.encode())
		}
	}
	w.b.WriteByte('\r')
}

// Bytes is the message that was written.
func (w *Writer) Bytes() []byte { return []byte(w.b.String()) }
