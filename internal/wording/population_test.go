package wording

import (
	"reflect"
	"regexp"
	"slices"
	"testing"
)

// Every text is there in every language, with the gaps of the English one.
func TestPopulationTexts(t *testing.T) {
	gap := regexp.MustCompile(`\{\d\}`)
	gaps := func(text string) []string {
		found := gap.FindAllString(text, -1)
		slices.Sort(found)
		return found
	}
	for _, language := range Languages() {
		if populations[language] == nil {
			t.Errorf("no texts for %s", language)
		}
	}
	want := reflect.ValueOf(englishPopulation)
	for language, texts := range populations {
		got := reflect.ValueOf(*texts)
		for i := range got.NumField() {
			name, text := got.Type().Field(i).Name, got.Field(i).String()
			if text == "" || !slices.Equal(gaps(text), gaps(want.Field(i).String())) {
				t.Errorf("%s: %s is %q, English %q", language, name, text, want.Field(i))
			}
		}
	}
}
