package intake

import (
	"strings"
	"unicode"

	"evenreach.example/internal/fhir"
)

// isOtherName reports whether a text names somebody else than the Patient. It is false
// where either of them has no name.
func (r *reader) isOtherName(text string) bool {
	p, ok := r.patient.entry.resource.(*fhir.Patient)
	shown := wordsOf(text)
	if !ok || len(shown) == 0 {
		return false
	}
	named := false
	for i := range p.Name {
		own := wordsOf(p.Name[i].Text, p.Name[i].Family, strings.Join(p.Name[i].Given, " "))
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

// isNamed reports whether the words of a text include the family name and a given name,
// whatever else they include, such as a title.
func isNamed(name *fhir.HumanName, shown nameWords) bool {
	family := wordsOf(name.Family)
	if len(family) == 0 || !shown.holds(family) {
		return false
	}
	for _, given := range name.Given {
		if g := wordsOf(given); len(g) > 0 && shown.holds(g) {
			return true
		}
	}
	return false
}

// nameWords are the words of a name in small letters.
type nameWords map[string]bool

func wordsOf(texts ...string) nameWords {
	all := nameWords{}
	for _, text := range texts {
		for _, word := range strings.FieldsFunc(text, func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsMark(c) }) {
			all[strings.ToLower(word)] = true
		}
	}
	return all
}

func (p nameWords) holds(others nameWords) bool {
	for word := range others {
		if !p[word] {
			return false
		}
	}
	return true
}
