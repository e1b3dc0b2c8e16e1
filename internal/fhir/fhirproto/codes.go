package fhirproto

import "slices"

// codes are the FHIR codes of an enum by its values. The value 0 stands for no
// code and has no text.
type codes []string

// text is the FHIR code of a value, or "" if it has none.
func (c codes) text(value int32) string {
	if value < 0 || int(value) >= len(c) {
		return ""
	}
	return c[value]
}

// value is the value of a FHIR code that is not empty.
func (c codes) value(text string) (value int32, ok bool) {
	i := slices.Index(c, text)
	return int32(i), i > 0
}
