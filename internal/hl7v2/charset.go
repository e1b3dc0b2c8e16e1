package hl7v2

import (
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"evenreach.example/internal/fault"
)

// A Charset is a character set of MSH-18.
type Charset struct {
	Name  string // of table 0211
	table *charmap.Charmap
}

// The character sets that are read. All hold ASCII where ASCII has it, so that the
// delimiters can be found before the set is known.
//
// Source: HL7 version 2.9, table 0211. That 8859/1 is read as Windows 1252 is common practice (WHATWG Encoding, label
// iso-8859-1): where part 1 has control characters, which mean nothing in a message, senders on Windows put typographic
// apostrophes, dashes and the euro sign.
var charsets = map[string]Charset{
	"ASCII":         {"ASCII", nil},
	"UNICODE UTF-8": {utf8Name, nil},
	"8859/1":        {"8859/1", charmap.Windows1252},
	"8859/2":        {"8859/2", charmap.ISO8859_2},
	"8859/3":        {"8859/3", charmap.ISO8859_3},
	"8859/4":        {"8859/4", charmap.ISO8859_4},
	"8859/5":        {"8859/5", charmap.ISO8859_5},
	"8859/6":        {"8859/6", charmap.ISO8859_6},
	"8859/7":        {"8859/7", charmap.ISO8859_7},
	"8859/8":        {"8859/8", charmap.ISO8859_8},
	"8859/9":        {"8859/9", charmap.ISO8859_9},
	"8859/15":       {"8859/15", charmap.ISO8859_15},
}

const utf8Name = "UNICODE UTF-8"

// text decodes bytes. What cannot be decoded becomes the replacement character.
func (c Charset) text(raw []byte) string {
	if c.table == nil {
		return strings.ToValidUTF8(string(raw), string(utf8.RuneError))
	}
	var b strings.Builder
	for _, one := range raw {
		b.WriteRune(c.table.DecodeByte(one))
	}
	return b.String()
}

// decode finds the character set that MSH-18 names and decodes the message. Where it
// names none, the set is ASCII; other bytes are then taken for UTF-8 if they are that,
// else for 8859/1.
func (m *Message) decode(data []byte) (string, error) {
	header := data
	if end := strings.IndexAny(string(data[:min(len(data), maxHeader)]), "\r\n"); end >= 0 {
		header = data[:end]
	}
	stated := strings.Split(string(header[:min(len(header), maxHeader)]), string(rune(m.delimiters.field)))
	name := ""
	if len(stated) > 17 {
		name = strings.TrimSpace(stated[17])
	}
	name, others, _ := strings.Cut(name, string(rune(m.delimiters.repetition)))
	if others != "" {
		return "", fault.Refuse(fault.Syntax, "MSH[1]-18", "found several character sets; expected one")
	}
	if name == "" {
		m.Charset = guess(data)
		return m.Charset.text(data), nil
	}
	var known bool
	if m.Charset, known = charsets[strings.ToUpper(name)]; !known {
		return "", fault.Refuse(fault.Syntax, "MSH[1]-18", "this character set is not read; expected ASCII, UNICODE UTF-8, or one of 8859/1 to 8859/9 or 8859/15")
	}
	m.Stated = true
	if m.Charset.table == nil && !utf8.Valid(data) || m.Charset.Name == "ASCII" && !isASCII(data) {
		return "", fault.Refuse(fault.Syntax, "MSH[1]-18", "the message holds bytes that its character set does not have")
	}
	return m.Charset.text(data), nil
}

// maxHeader is how far MSH-18 is looked for, in bytes.
//
// Source: ours.
const maxHeader = 8 << 10

func guess(data []byte) Charset {
	switch {
	case isASCII(data):
		return charsets["ASCII"]
	case utf8.Valid(data):
		return charsets[utf8Name]
	}
	return charsets["8859/1"]
}

func isASCII(data []byte) bool {
	for _, c := range data {
		if c >= utf8.RuneSelf {
			return false
		}
	}
	return true
}
