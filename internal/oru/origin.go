package oru

import (
	"fmt"
	"strconv"
	"strings"

	"evenreach.example/internal/hl7v2"
)

// origin is the part of the message from which an entry of the Bundle was made.
type origin struct {
	segment hl7v2.Segment
	fields  map[string]int // numbers by element, or by the beginning of its name
	// when is the place of the time if it comes from another segment, such as OBR-7.
	when       string
	components []componentOrigin
}

// componentOrigin is the part of the message from which a component was made.
type componentOrigin struct {
	segment    hl7v2.Segment
	repetition int // of OBX-5, from 1; 0 for the whole field
}

// The number of the field from which each element of a resource is read.
var (
	patientFields = map[string]int{"identifier": 3, "name": 5, "birthDate": 7}

	observationFields = map[string]int{
		"code": 3, "focus": 4, "value": 5, "dataAbsentReason": 5, "interpretation": 8, "status": 11,
		"effective": 14, "performer": 16, "method": 17, "device": 18, "bodySite": 20, "identifier": 21,
	}
	findingFields = map[string]int{"code": 5, "status": 11, "verificationStatus": 11, "performed": 14, "bodySite": 20, "identifier": 21}
)

// unitField is the number of the field with the unit of a value.
const unitField = 6

// Place is the place in the message, such as OBX[3]-5, of a FHIRPath into the Bundle.
// Another text is returned as it is.
func (in *Input) Place(path string) string {
	if path == "Bundle" {
		return ""
	}
	rest, ok := strings.CutPrefix(path, "Bundle.entry[")
	if !ok {
		return path
	}
	number, element, _ := strings.Cut(rest, "].resource")
	i, err := strconv.Atoi(number)
	if err != nil || i < 0 || i >= len(in.origins) {
		return path
	}
	return in.origins[i].field(strings.TrimPrefix(element, "."))
}

// field is the place in the message of an element of the entry.
func (p *origin) field(element string) string {
	if rest, ok := strings.CutPrefix(element, "component["); ok {
		number, inner, _ := strings.Cut(rest, "]")
		if i, err := strconv.Atoi(number); err == nil && i >= 0 && i < len(p.components) {
			return p.components[i].field(strings.TrimPrefix(inner, "."))
		}
	}
	if element == "subject" {
		return "PID"
	}
	if strings.HasPrefix(element, "effective") && p.when != "" {
		return p.when
	}
	return fieldOf(p.segment, p.fields, element)
}

// field is the place in the message of an element of a component.
func (c componentOrigin) field(element string) string {
	if c.repetition == 0 || strings.HasPrefix(element, "code") || isUnit(element) {
		return fieldOf(c.segment, observationFields, element)
	}
	return fmt.Sprintf("%s[%d]", c.segment.At(5), c.repetition)
}

// fieldOf is the place in the message of an element that is read from a segment.
func fieldOf(s hl7v2.Segment, fields map[string]int, element string) string {
	if isUnit(element) {
		return s.At(unitField)
	}
	for name, field := range fields {
		if strings.HasPrefix(element, name) {
			return s.At(field)
		}
	}
	return s.Place()
}

// isUnit reports whether an element is the unit of a value.
func isUnit(element string) bool {
	return element == "valueQuantity.unit" || element == "valueQuantity.code" || element == "valueQuantity.system"
}
