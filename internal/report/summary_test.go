package report

import (
	"strings"
	"testing"

	"evenreach.example/internal/wording"
)

// A reader with half a minute: the summary has at most twelve lines of a terminal, the
// page at most as many as a printed one.
func TestSummaryAndPageAreShort(t *testing.T) {
	const summaryLines, pageLines = 12, 60
	for _, language := range wording.Languages() {
		for _, s := range allStories() {
			t.Run(language+"/"+s.name, func(t *testing.T) {
				text := Text(s.assess(), s.issues, wording.For(language))
				head, _, _ := strings.Cut(text, "\n\n")
				if n := strings.Count(head, "\n"); n > summaryLines {
					t.Errorf("the summary has %d lines:\n%s", n, head)
				}
				if n := strings.Count(text, "\n"); n > pageLines {
					t.Errorf("the page has %d lines:\n%s", n, text)
				}
			})
		}
	}
}

// A section that has nothing to say is left out, and no item is empty.
func TestNoItemIsEmpty(t *testing.T) {
	for _, language := range wording.Languages() {
		for _, s := range allStories() {
			for form, text := range textForms(s, wording.For(language)) {
				for line := range strings.Lines(text) {
					if strings.TrimSpace(line) == "-" {
						t.Errorf("%s, %s, %s: an empty item", language, s.name, form)
					}
				}
			}
		}
	}
}

// Every form for the clinician begins with the same summary, whose numbers are those of
// the full report.
func TestSummaryIsInEveryForm(t *testing.T) {
	everywhere(t, func(t *testing.T, s story, form, text string, w *wording.Catalogue) {
		if forPatients(form) || form == "conclusion" {
			return
		}
		first := New(s.assess(), s.issues, w).first
		for _, line := range append(append(first.who, first.decision), first.lines...) {
			if !strings.Contains(bare(text), bare(line)) {
				t.Errorf("%s: no %q", form, line)
			}
		}
	})
}

// Warnings that the summary only counts are not called further ones where it names none.
func TestNoWarningIsFurtherWithoutAFirst(t *testing.T) {
	counted := 0
	for _, s := range append(allStories(), scenarios(t)...) {
		for _, language := range wording.Languages() {
			w := wording.For(language)
			first := New(s.assess(), s.issues, w).first
			if len(first.rest) == 0 || len(first.alarms) != 1 {
				continue
			}
			counted++
			if first.alarms[0] != w.More(len(first.rest), true) {
				t.Errorf("%s, %s: %q", language, s.name, first.alarms[0])
			}
		}
	}
	if counted == 0 {
		t.Error("no story has only warnings that the summary counts")
	}
}
