package wording

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestSentenceOfParts holds a sentence against its capital, its phrase and its
// full stop put together.
func TestSentenceOfParts(t *testing.T) {
	c := For("en")
	texts := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"", "a.", "ß", "ǆ", "ɐ", "\xff", "{1}", "{9}", "{", "{1"}))
	rapid.Check(t, func(t *rapid.T) {
		phrase, a, b := texts.Draw(t, "phrase"), texts.Draw(t, "first"), texts.Draw(t, "second")
		phrase += rapid.SampledFrom([]string{"", "{1}", "{2} and {1}", "{1}."}).Draw(t, "gaps")
		filled := c.fill(phrase, a, b)
		want := Capital(strings.TrimSuffix(filled, ".") + ".")
		if got := c.sentence(phrase, a, b); got != want {
			t.Fatalf("sentence is %q, want %q", got, want)
		}
		if got := c.Sentence(filled); got != want {
			t.Fatalf("Sentence is %q, want %q", got, want)
		}
	})
}
