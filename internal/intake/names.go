package intake

import (
	"strings"
	"unicode"

	"evenreach.example/internal/fhir"
)

// isOtherName reports whether a text names somebody else than the Patient. Nothing can be
// told where either of them has no name.
func (r *reader) isOtherName(text string) bool {
	p, ok := r.patient.entry.resource.(*fhir.Patient)
	shown := nameParts(text)
	if !ok || len(shown) == 0 {
		return false
	}
	named := false
	for i := range p.Name {
		own := nameParts(p.Name[i].Text, p.Name[i].Family, strings.Join(p.Name[i].Given, " "))
		if len(own) == 0 {
			continue
		}
		if own.holds(shown) || isNamed(&p.Name[i], shown) {
			return false
		}
		named = true
	}
	return named
}

// isNamed reports whether the parts of a text hold the family name and a given name,
// whatever else stands there, such as a title.
func isNamed(name *fhir.HumanName, shown parts) bool {
	family := nameParts(name.Family)
	if len(family) == 0 || !shown.holds(family) {
		return false
	}
	for _, given := range name.Given {
		if g := nameParts(given); len(g) > 0 && shown.holds(g) {
			return true
		}
	}
	return false
}

// parts are the words of a name in small letters.
type parts map[string]bool

func nameParts(texts ...string) parts {
	all := parts{}
	for _, text := range texts {
		for _, word := range strings.FieldsFunc(text, func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsMark(c) }) {
			all[strings.ToLower(word)] = true
		}
	}
	return all
}

func (p parts) holds(others parts) bool {
	for word := range others {
		if !p[word] {
			return false
		}
	}
	return true
}
