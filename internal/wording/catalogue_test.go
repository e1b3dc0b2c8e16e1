package wording

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/protocol"
)

func TestFor(t *testing.T) {
	for language, want := range map[string]string{
		"en": "en", "en-GB": "en", "EN": "en", "": "en", "tlh": "en", "-": "en", "de": "de", "de-CH": "de", "DE-at": "de", "fr": "fr", "fr-CA": "fr",
	} {
		if got := For(language).Language(); got != want {
			t.Errorf("For(%q) is %q, want %q", language, got, want)
		}
	}
}

// stringFields are the string fields of a struct by name.
func stringFields(v any) map[string]string {
	fields := map[string]string{}
	value := reflect.ValueOf(v)
	for i := range value.NumField() {
		fields[value.Type().Field(i).Name] = value.Field(i).String()
	}
	return fields
}

func TestEveryPhraseIsWritten(t *testing.T) {
	for _, c := range languages {
		for _, part := range []any{c.Headings, c.Offers, c.phrases, c.plainHeadings, c.plain} {
			for name, text := range stringFields(part) {
				if text == "" {
					t.Errorf("%s: %T.%s is empty", c.language, part, name)
				}
			}
		}
		for code, u := range c.units {
			for _, text := range []string{u.value, u.difference} {
				if !strings.Contains(text, "{1}") {
					t.Errorf("%s: unit %s: %q has no gap for the number", c.language, code, text)
				}
			}
		}
	}
}

var gap = regexp.MustCompile(`\{[^}]*\}?`)

// A translation may move gaps about; it may not lose or add any.
func TestPhrasesHaveTheGapsOfTheirMeaning(t *testing.T) {
	for _, c := range languages {
		for _, pair := range [...][2]any{{english.phrases, c.phrases}, {english.plain, c.plain}, {english.Headings, c.Headings}} {
			meaning := stringFields(pair[0])
			for name, text := range stringFields(pair[1]) {
				want, got := gapsOf(meaning[name]), gapsOf(text)
				if fmt.Sprint(want) != fmt.Sprint(got) {
					t.Errorf("%s: %s: gaps %v, want %v", c.language, name, got, want)
				}
			}
		}
		for i, v := range vocabularies(c) {
			meaning := vocabularies(For("en"))[i]
			for k, text := range v.table {
				want, got := gapsOf(meaning.table[k]), gapsOf(text)
				if fmt.Sprint(want) != fmt.Sprint(got) {
					t.Errorf("%s: %s of %s: gaps %v, want %v", c.language, v.name, v.codes[k], got, want)
				}
			}
		}
	}
}

// alike are texts that are the same in English and another language.
var alike = regexp.MustCompile(`^(LSI, %|Position|passive \{1\}|MDC \{1\}|\{1\}, LSI \{2\}|(90° )?(flexion|abduction)|90° scaption)$`)

var threeLetters = regexp.MustCompile(`[a-z]{3}`)

// Nothing is left in English.
func TestEveryTextIsTranslated(t *testing.T) {
	for _, c := range languages[1:] {
		untranslated := func(name, original, text string) {
			if original == text && threeLetters.MatchString(text) && !alike.MatchString(text) {
				t.Errorf("%s: %s is %q as in English", c.language, name, text)
			}
		}
		for _, pair := range [...][2]any{
			{english.phrases, c.phrases}, {english.plain, c.plain}, {english.Headings, c.Headings}, {english.Offers, c.Offers}, {english.plainHeadings, c.plainHeadings},
		} {
			original := stringFields(pair[0])
			for name, text := range stringFields(pair[1]) {
				untranslated(name, original[name], text)
			}
		}
		for i, v := range vocabularies(c) {
			for k, text := range v.table {
				untranslated(v.name, vocabularies(For("en"))[i].table[k], text)
			}
		}
		for code := range english.units {
			if _, ok := c.units[code]; !ok {
				t.Errorf("%s: no unit %s", c.language, code)
			}
		}
		for i, reason := range c.plainTerms.help {
			if len(c.plainTerms.help) != len(english.plainTerms.help) {
				t.Fatalf("%s: %d reasons to stop, English has %d", c.language, len(c.plainTerms.help), len(english.plainTerms.help))
			}
			untranslated("reason to stop", english.plainTerms.help[i], reason)
		}
	}
}

// The doses and sources of the default protocol are read in every language, with their
// numbers. Of the model of the course only three are in a text.
func TestProseOfTheDefaultProtocolIsTranslated(t *testing.T) {
	p := *protocol.Default()
	p.Course = protocol.Course{AllEven: p.Course.AllEven, Plateau: p.Course.Plateau, Reach: p.Course.Reach}
	prose := append(proseOf(reflect.ValueOf(p)), p.Title)
	if len(prose) < 60 {
		t.Errorf("only %d doses and sources", len(prose))
	}
	for _, c := range languages[1:] {
		for _, text := range prose {
			translated, ok := c.prose[text]
			if !ok {
				t.Errorf("%s: no translation of %q", c.language, text)
			}
			numbers := regexp.MustCompile(`\d+`)
			if want, got := numbers.FindAllString(text, -1), numbers.FindAllString(translated, -1); !sameNumbers(want, got) {
				t.Errorf("%s: %q has the numbers %v, want %v", c.language, translated, got, want)
			}
		}
		for text := range c.prose {
			if !slices.Contains(prose, text) {
				t.Errorf("%s: the protocol does not say %q", c.language, text)
			}
		}
		if own := "as the clinic writes it"; c.Translated(own) != own {
			t.Errorf("%s: a clinic's own words are changed", c.language)
		}
	}
}

// proseOf is every dose and source within a part of a protocol, each once.
func proseOf(v reflect.Value) (texts []string) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			name := v.Type().Field(i).Name
			if f := v.Field(i); f.Kind() == reflect.String && (name == "Source" || name == "Text") {
				if f.String() != "" && !slices.Contains(texts, f.String()) {
					texts = append(texts, f.String())
				}
				continue
			}
			for _, text := range proseOf(v.Field(i)) {
				if !slices.Contains(texts, text) {
					texts = append(texts, text)
				}
			}
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			texts = append(texts, proseOf(v.Index(i))...)
		}
	case reflect.Pointer:
		if !v.IsNil() {
			texts = append(texts, proseOf(v.Elem())...)
		}
	}
	return texts
}

func sameNumbers(a, b []string) bool {
	a, b = slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b))
	return slices.Equal(a, b)
}

// gapsOf counts the gaps of a phrase by their number.
func gapsOf(phrase string) map[string]int {
	gaps := map[string]int{}
	for _, g := range gap.FindAllString(phrase, -1) {
		gaps[g] = 1
	}
	return gaps
}

func TestGapsAreNumberedFromOne(t *testing.T) {
	for name, text := range stringFields(english.phrases) {
		gaps := gapsOf(text)
		for i := range gaps {
			if len(i) != 3 || i[1] < '1' || i[1] > '9' {
				t.Errorf("%s: gap %q in %q", name, i, text)
			}
		}
		for i := range len(gaps) {
			if gaps[fmt.Sprintf("{%d}", i+1)] == 0 {
				t.Errorf("%s: gap {%d} is missing in %q", name, i+1, text)
			}
		}
	}
}

func TestFill(t *testing.T) {
	for _, tt := range []struct {
		phrase string
		values []string
		want   string
	}{
		{"no gap", nil, "no gap"},
		{"{1} to {2}", []string{"a", "b"}, "a to b"},
		{"{2} before {1}", []string{"a", "b"}, "b before a"},
		{"{1} and {1}", []string{"a"}, "a and a"},
		{"{1}", []string{"{2}"}, "{2}"},
		{"{3}", []string{"a"}, ""},
		{"{", []string{"a"}, "{"},
		{"{0}", []string{"a"}, ""},
	} {
		if got := For("en").fill(tt.phrase, tt.values...); got != tt.want {
			t.Errorf("fill(%q, %q) = %q, want %q", tt.phrase, tt.values, got, tt.want)
		}
	}
}
