package intake

import (
	"cmp"
	"strings"
	"unicode/utf8"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// person is how printed pages name the patient: by the name of the Patient, else a record
// number, else the address of the resource.
func (r *reader) person(subject *fhir.Reference) shoulder.Person {
	p := shoulder.Person{Name: r.fallbackName(subject)}
	if r.patient.entry == nil {
		return p
	}
	patient, ok := r.patient.entry.resource.(*fhir.Patient)
	if !ok {
		return p
	}
	p.Name = cmp.Or(firstName(patient.Name), p.Name)
	p.Born = asText(patient.BirthDate)
	return p
}

// fallbackName is a record number, or what the subject was referred to as.
func (r *reader) fallbackName(subject *fhir.Reference) string {
	if r.patient.entry != nil {
		if ids := r.patient.entry.common.Identifier; len(ids) > 0 && ids[0].Value != "" {
			return asText(ids[0].Value)
		}
	}
	if subject.Identifier != nil && subject.Identifier.Value != "" {
		return asText(subject.Identifier.Value)
	}
	return asText(subject.Reference)
}

// firstName is the first name that is not empty, family name last.
func firstName(names []fhir.HumanName) string {
	for i := range names {
		n := &names[i]
		whole := strings.TrimSpace(strings.Join(n.Given, " ") + " " + n.Family)
		if name := asText(cmp.Or(strings.TrimSpace(n.Text), whole)); name != "" {
			return name
		}
	}
	return ""
}

// longestPerson bounds what is printed of a name, in letters, so that it keeps to a
// line; common practice.
const longestPerson = 48

// asText shortens a text of the record to a line of a printed page.
func asText(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if utf8.RuneCountInString(s) <= longestPerson {
		return s
	}
	return string([]rune(s)[:longestPerson-1]) + "…"
}
