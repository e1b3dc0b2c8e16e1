package wording

import (
	"fmt"
	"reflect"
	"regexp"
	"strings"
	"testing"
)

func TestFor(t *testing.T) {
	for language, want := range map[string]string{
		"en": "en", "en-GB": "en", "EN": "en", "": "en", "tlh": "en", "-": "en",
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
		for _, part := range []any{c.Headings, c.phrases} {
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
	meaning := stringFields(english.phrases)
	for _, c := range languages {
		for name, text := range stringFields(c.phrases) {
			want, got := gapsOf(meaning[name]), gapsOf(text)
			if fmt.Sprint(want) != fmt.Sprint(got) {
				t.Errorf("%s: %s: gaps %v, want %v", c.language, name, got, want)
			}
		}
	}
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
		if got := fill(tt.phrase, tt.values...); got != tt.want {
			t.Errorf("fill(%q, %q) = %q, want %q", tt.phrase, tt.values, got, tt.want)
		}
	}
}
