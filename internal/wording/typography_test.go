package wording

import (
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// allTexts is every text of a catalogue.
func allTexts(c *Catalogue) (texts []string) {
	for _, part := range []any{c.Headings, c.Offers, c.phrases, c.plainHeadings, c.plain} {
		texts = slices.AppendSeq(texts, maps.Values(stringFields(part)))
	}
	for _, v := range vocabularies(c) {
		texts = append(texts, v.table...)
	}
	for _, u := range c.units {
		texts = append(texts, u.value, u.difference)
	}
	texts = slices.AppendSeq(slices.AppendSeq(texts, maps.Values(c.prose)), maps.Values(c.titles))
	return slices.Concat(texts, c.plainTerms.push, c.plainTerms.pull, c.plainTerms.help)
}

// French puts a space before signs of two parts, within quotation marks, and before the sign
// of a unit, and no line breaks at it.
//
// Source: Lexique des règles typographiques en usage à l'Imprimerie nationale.
func TestFrenchSignsStayWithTheirWord(t *testing.T) {
	wrong := regexp.MustCompile(`[^,] [:;?!»%]|« |[\p{L})}][:;?!»%]|«[^\x{a0}]|'`)
	texts := allTexts(For("fr"))
	if len(texts) < 500 {
		t.Errorf("only %d texts", len(texts))
	}
	for _, text := range texts {
		if found := wrong.FindString(strings.ReplaceAll(text, "doi:", "")); found != "" {
			t.Errorf("%q in %q", found, text)
		}
	}
}
