package hl7v2

import (
	"encoding/hex"
	"strings"
)

// unescape replaces the escape sequences of a text. Sequences that only say how a text
// is to look, or that a site has made for itself, are dropped; one that is malformed is
// text.
//
// Source: HL7 version 2.9, section 2.7.
func (m *Message) unescape(text string) string {
	mark := m.delimiters.escape
	if mark == 0 || strings.IndexByte(text, mark) < 0 {
		return text
	}
	var b strings.Builder
	for text != "" {
		start := strings.IndexByte(text, mark)
		if start < 0 {
			break
		}
		length := strings.IndexByte(text[start+1:], mark)
		if length < 0 {
			break
		}
		b.WriteString(text[:start])
		m.replace(&b, text[start+1:start+1+length])
		text = text[start+length+2:]
	}
	b.WriteString(text)
	return b.String()
}

// replace writes what an escape sequence stands for.
func (m *Message) replace(b *strings.Builder, sequence string) {
	delimiter := map[string]byte{
		"F": m.delimiters.field, "S": m.delimiters.component, "T": m.delimiters.subcomponent,
		"R": m.delimiters.repetition, "E": m.delimiters.escape,
	}[sequence]
	switch {
	case delimiter != 0:
		b.WriteByte(delimiter)
	case sequence == ".br" || strings.HasPrefix(sequence, ".sp"):
		b.WriteByte('\n')
	case strings.HasPrefix(sequence, "X"):
		if raw, err := hex.DecodeString(sequence[1:]); err == nil {
			b.WriteString(m.Charset.text(raw))
		}
	}
}

// escaped are the characters that stand for something else where text is written.
var escaped = strings.NewReplacer(
	"|", `\F\`, "^", `\S\`, "&", `\T\`, "~", `\R\`, `\`, `\E\`,
	"\r\n", `\.br\`, "\n", `\.br\`, "\r", `\.br\`,
)
