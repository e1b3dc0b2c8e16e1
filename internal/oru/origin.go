package oru

import (
	"fmt"
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/hl7v2"
)

// place is where in the message an entry of the Bundle comes from.
type place struct {
	segment hl7v2.Segment
	fields  map[string]int // by the element, or the beginning of its name
	// when is the field that holds the time, if it is not the segment's own.
	when       string
	components []part
}

// part is where a component of an Observation comes from.
type part struct {
	segment    hl7v2.Segment
	repetition int // of OBX-5; 0 for all of it
}

// The fields in which the elements of a resource stand.
var (
	patientFields = map[string]int{"identifier": 3, "name": 5, "birthDate": 7}

	observationFields = map[string]int{
		"code": 3, "focus": 4, "value": 5, "dataAbsentReason": 5, "interpretation": 8, "status": 11,
		"effective": 14, "performer": 16, "method": 17, "device": 18, "bodySite": 20, "identifier": 21,
	}
	findingFields = map[string]int{"code": 5, "status": 11, "verificationStatus": 11, "performed": 14, "bodySite": 20, "identifier": 21}
)

// unitField is where the unit of a value stands.
const unitField = 6

// Locate names the places of issues as the message has them, such as OBX[3]-5, instead of
// by a FHIRPath into the Bundle with the root "Bundle".
func (in *Input) Locate(issues []fault.Issue) {
	for i := range issues {
		issues[i].Path = in.Place(issues[i].Path)
	}
}

// Place is the place in the message of a FHIRPath into the Bundle. What is no such path
// stays as it is.
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
	if err != nil || i < 0 || i >= len(in.places) {
		return path
	}
	return in.places[i].of(strings.TrimPrefix(element, "."))
}

// of is the place of an element of the entry.
func (p *place) of(element string) string {
	if rest, ok := strings.CutPrefix(element, "component["); ok {
		number, inner, _ := strings.Cut(rest, "]")
		if i, err := strconv.Atoi(number); err == nil && i >= 0 && i < len(p.components) {
			return p.components[i].of(strings.TrimPrefix(inner, "."))
		}
	}
	if element == "subject" {
		return "PID"
	}
	if strings.HasPrefix(element, "effective") && p.when != "" {
		return p.when
	}
	return at(p.segment, p.fields, element)
}

// of is the place of an element of a component.
func (c part) of(element string) string {
	if c.repetition == 0 || strings.HasPrefix(element, "code") || isUnit(element) {
		return at(c.segment, observationFields, element)
	}
	return fmt.Sprintf("%s[%d]", c.segment.At(5), c.repetition)
}

// at is the place of an element in a segment.
func at(s hl7v2.Segment, fields map[string]int, element string) string {
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
