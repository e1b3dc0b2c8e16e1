package report

import (
	"strings"
	"testing"

	"evenreach.example/internal/wording"
)

// Who pays reads one page, and so does the patient.
func TestFormsAreShort(t *testing.T) {
	most := map[string]int{"progress note": 62, "patient": 45, "home": 60}
	for _, language := range wording.Languages() {
		for _, s := range allStories() {
			for form, text := range textForms(s, wording.For(language)) {
				if limit, limited := most[form]; limited && strings.Count(text, "\n") > limit {
					t.Errorf("%s, %s, %s: %d lines, of at most %d:\n%s", language, s.name, form, strings.Count(text, "\n"), limit, text)
				}
			}
		}
	}
}
