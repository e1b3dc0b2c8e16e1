package fhirjson

import (
	"encoding/base64"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
	"strconv"
	"strings"
)

// str decodes a FHIR string or markdown.
func (d *decoder) str() string {
	if d.kind != '"' {
		d.unexpected("a string")
		return ""
	}
	s := d.unquoted()
	if s == "" {
		d.misshaped("found an empty string; expected the element to be absent")
		return ""
	}
	if d.escaped && strings.ContainsFunc(s, lexical.IsForbiddenControl) {
		d.bad(lexical.ExpectedText)
	}
	return s
}

// checked decodes a string whose form is checked.
func (d *decoder) checked(valid func(string) bool, expected string) string {
	s := d.str()
	if s != "" && !valid(s) {
		d.bad(expected)
	}
	return s
}

func (d *decoder) code() string {
	s := d.str()
	if d.mayHoldSpace(s) && !lexical.IsCode(s) {
		d.bad(lexical.ExpectedCode)
	}
	return s
}

// uri decodes a uri, url or canonical.
func (d *decoder) uri() string {
	s := d.str()
	if d.mayHoldSpace(s) && !lexical.IsURI(s) {
		d.bad(lexical.ExpectedURI)
	}
	return s
}

// mayHoldSpace reports whether the white space in the current string is worth a
// look: unless it is escaped, JSON allows spaces only.
func (d *decoder) mayHoldSpace(s string) bool {
	return s != "" && (d.escaped || strings.IndexByte(s, ' ') >= 0)
}

func (d *decoder) id() string {
	return d.checked(lexical.IsID, lexical.ExpectedID)
}

func (d *decoder) date() string {
	return d.checked(lexical.IsDate, lexical.ExpectedDate)
}

func (d *decoder) dateTime() string {
	return d.checked(lexical.IsDateTime, lexical.ExpectedDateTime)
}

func (d *decoder) instant() string {
	return d.checked(lexical.IsInstant, lexical.ExpectedInstant)
}

// div decodes an XHTML div. Its inside is not read: R4 allows a reader to pass
// over narrative.
func (d *decoder) div() string { return d.checked(lexical.IsDiv, lexical.ExpectedDiv) }

func (d *decoder) base64() []byte {
	s := d.str()
	data, err := base64.StdEncoding.DecodeString(strings.Map(dropSpace, s))
	if err != nil {
		d.bad("base64")
	}
	return data
}

// dropSpace is for strings.Map: R4 allows white space in base64.
func dropSpace(r rune) rune {
	if r == ' ' || r == '\t' || r == '\n' || r == '\r' {
		return -1
	}
	return r
}

func (d *decoder) boolean() bool {
	if d.kind != 't' && d.kind != 'f' {
		d.unexpected("true or false")
	}
	return d.kind == 't'
}

func (d *decoder) integer() int32 {
	if d.kind != '0' {
		d.unexpected("a number")
		return 0
	}
	n, err := strconv.ParseInt(d.text[d.start:d.end], 10, 32)
	if err != nil {
		d.bad("an integer from -2147483648 to 2147483647, without fraction or exponent")
	}
	return int32(n)
}

func (d *decoder) unsignedInt() uint32 {
	if d.kind != '0' {
		d.unexpected("a number")
		return 0
	}
	n, err := strconv.ParseUint(d.text[d.start:d.end], 10, 31)
	if err != nil {
		d.bad("an integer from 0 to 2147483647, without fraction or exponent")
	}
	return uint32(n)
}

func (d *decoder) decimal() fhir.Decimal {
	if d.kind != '0' {
		d.unexpected("a number")
		return ""
	}
	s := d.text[d.start:d.end]
	if !lexical.IsDecimal(s) {
		d.bad(lexical.ExpectedDecimal)
	}
	return fhir.Decimal(s)
}
