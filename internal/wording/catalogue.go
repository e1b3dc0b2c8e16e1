// Package wording holds every text that people read, one catalogue for each language, and
// composes sentences from it. A catalogue is data: tables of terms by value, and sentences
// with numbered placeholders. To add a language, translate the files english*.go and add
// the catalogue to the list of languages.
package wording

import (
	"cmp"
	"strings"

	"evenreach.example/internal/slab"
)

// languages lists the catalogues; the first one answers for unknown languages.
var languages = [...]*Catalogue{{translation: &english}, {translation: &german}, {translation: &french}}

// For returns the catalogue of a language by its BCP 47 tag, such as "en" or
// "en-GB": the catalogue of that tag, else of its primary language, else
// English.
func For(language string) *Catalogue {
	if c := find(language); c != nil {
		return c
	}
	return languages[0]
}

// Has reports whether there is a catalogue of a language: of its tag, or of its primary
// language.
func Has(language string) bool { return find(language) != nil }

func find(language string) *Catalogue {
	primary, _, _ := strings.Cut(language, "-")
	for _, wanted := range [...]string{language, primary} {
		for _, c := range languages {
			if strings.EqualFold(c.language, wanted) {
				return c
			}
		}
	}
	return nil
}

// In is another language, in which forces are shown as in this one and sentences are composed
// in the same buffer.
func (c *Catalogue) In(language string) *Catalogue {
	return &Catalogue{For(language).translation, c.force, c.texts}
}

// Languages are the BCP 47 tags of the catalogues, English first.
func Languages() []string {
	tags := make([]string, len(languages))
	for i, c := range languages {
		tags[i] = c.language
	}
	return tags
}

// Catalogue is the texts of one language, with the unit that forces are shown in. It is
// read-only.
type Catalogue struct {
	*translation
	force ForceUnit
	texts *slab.Texts // buffer for the composed sentences; nil to allocate each
}

// translation is the texts of one language.
type translation struct {
	// Headings are the titles and column heads of a report.
	Headings Headings
	Offers   Offers

	language string
	decimal  string // decimal sign
	day      string // layout of a calendar day, as of package time
	terms    terms
	units    map[string]unit // by UCUM code
	// titles are the names of results, and of reasons to override a card, by their code; nil
	// for those of the code systems.
	titles map[string]string
	// prose translates the title, doses and sources of the default protocol, which are in English.
	prose   map[string]string
	phrases phrases

	// What the patient reads.
	plainHeadings PlainHeadings
	plainTerms    plainTerms
	plain         plainPhrases
}

// Title names a kind of result by its code, or by its name in English if there is none.
func (c *Catalogue) Title(code, english string) string { return cmp.Or(c.titles[code], english) }

// Colon stands between a label and a text.
func (c *Catalogue) Colon() string { return c.phrases.colon }

// Language is the catalogue's own BCP 47 tag.
func (c *Catalogue) Language() string { return c.language }

// With is the catalogue for one answer, which composes its sentences in the buffer texts.
// The catalogues of the languages may be used by several goroutines, this one by one only.
func (c *Catalogue) With(texts *slab.Texts) *Catalogue {
	other := *c
	other.texts = texts
	return &other
}

// unit is how a unit is written.
type unit struct {
	name       string // alone
	value      string // {1} is the number
	difference string // {1} is the number with its sign
}

// terms are tables indexed by the value that they name. Terms are written as in the middle
// of a sentence, without capital and full stop, unless the comment says that they are
// sentences.
type terms struct {
	side           []string // "left"
	onSide         []string // "on the left"
	motion         []string
	position       []string // "90 degrees of flexion"
	atPosition     []string // "at 90 degrees of flexion"
	positionShort  []string // fits a column of 14
	support        []string
	contraction    []string
	instrument     []string
	movement       []string
	painContext    []string
	step           []string
	stepShort      []string
	overall        []string
	decision       []string // sentence that says what the overall status means
	verdict        []string
	certainty      []string
	rule           []string
	direction      []string
	directionShort []string // fits 12
	mismatch       []string
	condition      []string
	outlook        []string
	bandRelation   []string
	irritability   []string
	mode           []string
	purpose        []string
	cue            []string // sentences
	caution        []string // sentences
	ask            []string // {1} is what is asked for
	askShort       []string // {1} is what is asked for
	why            []string
	aim            []string // {1} is the rotation
	achievement    []string
	level          []string
	levelShort     []string // three words at most
	flag           []string // a label: "sudden loss of strength"
	doubt          []string // a label
	loadPhase      []string // the load that a phase of healing permits
	repairKind     []string
	demandHold     []string // what a demand waits for; {1} is the load that is permitted now
	scoreRule      []string // "mean of the trials"
	comparison     []string // {1} is the threshold
	kind           []string
}

// term looks a value up, and returns the first text for a value that is not in the table.
func term[T ~uint8](table []string, value T) string {
	if int(value) < len(table) {
		return table[value]
	}
	return table[0]
}

// fill replaces the placeholders {1} to {9} of a phrase by the values.
func (c *Catalogue) fill(phrase string, values ...string) string {
	if strings.IndexByte(phrase, '{') < 0 {
		return phrase
	}
	var space [256]byte // long enough for most phrases
	return c.texts.Of(appendFilled(space[:0], phrase, values))
}

func appendFilled(out []byte, phrase string, values []string) []byte {
	for {
		i := strings.IndexByte(phrase, '{')
		if i < 0 || i+2 >= len(phrase) {
			return append(out, phrase...)
		}
		out = append(out, phrase[:i]...)
		if n := int(phrase[i+1] - '1'); n < len(values) {
			out = append(out, values[n]...)
		}
		phrase = phrase[i+3:]
	}
}
