package oru

import (
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/intake"
)

// isNumber reports whether the repetitions of a type of OBX-2 are trials.
func isNumber(kind string) bool { return kind == "NM" || kind == "SN" }

// isCoded reports whether a type of OBX-2 holds codes.
//
// Source: HL7 version 2.9, table 0125.
func isCoded(kind string) bool {
	switch kind {
	case "CWE", "CE", "CNE", "CF":
		return true
	}
	return false
}

// value reads a value of the type that OBX-2 states. A value that FHIR cannot hold becomes
// one that intake drops with an issue.
//
// Source: the HL7 Version 2 to FHIR guide, segment map OBX.
func (r *reader) value(s hl7v2.Segment, f hl7v2.Field) fhir.Value {
	if f.Empty() || s.Field(11).Text(1) == "N" {
		return nil
	}
	kind := s.Field(2).Text(1)
	switch {
	case kind == "NM":
		return r.quantity(s, "", f.Text(1))
	case kind == "SN":
		return r.structured(s, f)
	case isCoded(kind):
		return r.coded(f)
	}
	switch kind {
	case "ID", "IS":
		return yesOrNo(f.Text(1))
	case "ST", "TX", "FT":
		return r.text(s, f)
	case "DT", "TS", "DTM":
		return r.dateTime(f.Text(1), s.At(5))
	}
	return fhir.OtherValue(kind)
}

// quantity is a number in the unit of OBX-6. A muscle grade is a number too.
func (r *reader) quantity(s hl7v2.Segment, comparator, number string) *fhir.Quantity {
	q := &fhir.Quantity{Value: fhir.Decimal(normalNumber(number)), Comparator: comparator}
	f := s.Field(6)
	for _, at := range [...]int{1, 4, 10} {
		if f.Text(at) != "" && r.system(f.Text(at+2)) == fhir.SystemUCUM {
			q.Code, q.Unit, q.System = f.Text(at), f.Text(at+1), fhir.SystemUCUM
			return q
		}
	}
	q.Unit = f.Text(1)
	if q.Unit == "" {
		q.Unit = f.Text(2)
	}
	if code, ok := intake.UCUM(q.Unit); ok {
		q.Code, q.System = code, fhir.SystemUCUM
	}
	return q
}

// normalNumber removes from a number what version 2 allows and FHIR does not: a plus sign
// and leading zeros.
func normalNumber(number string) string {
	sign, digits := "", strings.TrimPrefix(strings.TrimSpace(number), "+")
	if rest, negative := strings.CutPrefix(digits, "-"); negative {
		sign, digits = "-", rest
	}
	trimmed := strings.TrimLeft(digits, "0")
	if trimmed == "" || trimmed[0] < '0' || trimmed[0] > '9' {
		trimmed = digits[max(0, len(digits)-len(trimmed)-1):]
	}
	return sign + strings.TrimSuffix(trimmed, ".")
}

// structured reads a structured numeric (SN): a number with a comparator, or a bare one.
// Ranges and ratios are no measurement.
func (r *reader) structured(s hl7v2.Segment, f hl7v2.Field) fhir.Value {
	comparator := f.Text(1)
	if f.Text(3) != "" || f.Text(4) != "" {
		return fhir.OtherValue("SN")
	}
	if comparator == "=" {
		comparator = ""
	}
	return r.quantity(s, comparator, f.Text(2))
}

// coded reads a coded value: yes or no, or a concept.
func (r *reader) coded(f hl7v2.Field) fhir.Value {
	c := r.concept(f)
	for i := range c.Coding {
		if c.Coding[i].System == yesNo {
			return yesOrNo(c.Coding[i].Code)
		}
	}
	if len(c.Coding) == 0 {
		c.Text = f.Text(2)
	}
	return &c
}

// yesOrNo reads table 0136; any other code is text.
func yesOrNo(code string) fhir.Value {
	switch code {
	case "Y":
		return fhir.Boolean(true)
	case "N":
		return fhir.Boolean(false)
	}
	return fhir.String(code)
}

// text reads text. A number with a unit in OBX-6 is read as a number, although it was sent
// as text.
func (r *reader) text(s hl7v2.Segment, f hl7v2.Field) fhir.Value {
	var lines []string
	for _, one := range f.Repetitions() {
		lines = append(lines, one.Text(1))
	}
	text := strings.Join(lines, "\n")
	if !s.Field(6).Empty() && isDecimal(text) {
		return r.quantity(s, "", text)
	}
	return fhir.String(text)
}

// isDecimal reports whether a text is a number as version 2 writes them.
func isDecimal(text string) bool {
	digits := strings.Replace(strings.TrimLeft(text, "+-"), ".", "", 1)
	return digits != "" && len(text)-len(digits) <= 2 && strings.Trim(digits, "0123456789") == ""
}
