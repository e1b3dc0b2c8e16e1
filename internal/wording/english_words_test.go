package wording

import (
	"testing"

	"evenreach.example/internal/wording/wordingtest"
)

// No text of another language holds an English word.
func TestNoEnglishInOtherLanguages(t *testing.T) {
	for _, c := range languages[1:] {
		for _, text := range allTexts(c) {
			if found := wordingtest.English(text); found != "" {
				t.Errorf("%s: %q in %q", c.language, found, text)
			}
		}
	}
}
