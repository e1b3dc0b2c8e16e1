package wording

import (
	"testing"

	"pgregory.net/rapid"
)

// TestSentenceOfParts holds a sentence that is written at once against the one
// that is written in two steps.
func TestSentenceOfParts(t *testing.T) {
	c := For("en")
	texts := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"", "a.", "ß", "ǆ", "ɐ", "\xff", "{1}", "{9}", "{", "{1"}))
	rapid.Check(t, func(t *rapid.T) {
		phrase, a, b := texts.Draw(t, "phrase"), texts.Draw(t, "first"), texts.Draw(t, "second")
		phrase += rapid.SampledFrom([]string{"", "{1}", "{2} and {1}", "{1}."}).Draw(t, "gaps")
		if got, want := c.sentence(phrase, a, b), c.Sentence(c.fill(phrase, a, b)); got != want {
			t.Fatalf("%q, want %q", got, want)
		}
	})
}
