package report

import (
	"strings"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/report/pdf/pdftest"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// Who pays reads one page of a terminal, and so does the patient.
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

// Each printed form keeps to its pages on A4 and on letter, and each page says whose it
// is and which of how many.
func TestPrintedFormsKeepToTheirPages(t *testing.T) {
	person := shoulder.Person{Name: strings.Repeat("Long Name ", 5)[:48], Born: "1970-01-01"}
	for _, language := range wording.Languages() {
		w := wording.For(language)
		for _, s := range allStories() {
			e := *s.episode
			e.Person = person
			a := assess.Assess(&e, protocol.Default(), s.asOf)
			for name, paper := range map[string]typeset.Paper{"a4": typeset.A4, "letter": typeset.Letter} {
				for _, form := range []struct {
					name  string
					pages int
					write func() ([]byte, error)
				}{
					{"report", 2, func() ([]byte, error) { return PDF(a, s.issues, w, paper) }},
					{"note", 1, func() ([]byte, error) { return ProgressNotePDF(a, s.issues, w, paper) }},
					{"patient", 1, func() ([]byte, error) { return PatientPDF(a, w, paper) }},
					{"home", 2, func() ([]byte, error) { return HomePDF(a, w, paper) }},
				} {
					document, err := form.write()
					if err != nil {
						t.Fatal(err)
					}
					checkPages(t, strings.Join([]string{language, s.name, form.name, name}, ", "), document, form.pages, w.Who(person), w)
				}
			}
		}
	}
}

func checkPages(t *testing.T, name string, document []byte, most int, who string, w *wording.Catalogue) {
	t.Helper()
	pages, err := pdftest.Pages(document)
	if err != nil {
		t.Fatal(err)
	}
	if len(pages) > most {
		t.Errorf("%s: %d pages, of at most %d", name, len(pages), most)
	}
	for i, page := range pages {
		identity, foot := page[len(page)-2], page[len(page)-1]
		if bare(identity) != bare(who) {
			t.Errorf("%s: page %d is of %q", name, i+1, identity)
		}
		if !strings.HasSuffix(bare(foot), bare(w.Foot("", day("2026-01-01"), i+1, len(pages)))[len(bare(w.AsOf(day("2026-01-01"))))+2:]) {
			t.Errorf("%s: page %d has the foot %q", name, i+1, foot)
		}
	}
}

// What needs a partner is not on the home programme, in any form, and the sheet says why.
// While a red flag holds, or nothing is cleared, it lists no exercise and no diary.
func TestHomeProgrammeListsOnlyWhatIsAllowedThere(t *testing.T) {
	partner, empty := 0, 0
	everywhere(t, func(t *testing.T, s story, form, text string, w *wording.Catalogue) {
		if !strings.HasPrefix(form, "home") {
			return
		}
		a, p := s.assess(), w.Plain()
		home := atHome(a.Plan.Exercises)
		if len(home) < len(a.Plan.Exercises) {
			partner++
			if !strings.Contains(bare(text), bare(p.ClinicOnly())) && !strings.Contains(bare(text), bare(p.NoneAtHome())) {
				t.Errorf("%s: does not say that exercises are left out", form)
			}
		}
		if strings.Contains(bare(text), bare(p.Mode(plan.RhythmicStabilisation))) {
			t.Errorf("%s: tells to do alone what needs a partner", form)
		}
		for i := range home {
			if !strings.Contains(bare(text), bare(p.Numbered(i+1, &home[i]))) || !strings.Contains(bare(text), bare(p.Load(&home[i]))) {
				t.Errorf("%s: exercise %d or its load is missing", form, i+1)
			}
		}
		if strings.Contains(bare(text), bare(wording.Capital(p.DiaryDone(len(home)+1)))) {
			t.Errorf("%s: names more exercises than are allowed", form)
		}
		if len(home) == 0 {
			empty++
			if strings.Contains(text, p.Headings().Diary) {
				t.Errorf("%s: a diary of nothing", form)
			}
		}
	})
	if partner == 0 || empty == 0 {
		t.Errorf("%d stories with a partner, %d without an exercise", partner, empty)
	}
}

// A goal that is reached does not remain: a payer's reviewer would read two answers.
func TestNoReachedGoalRemains(t *testing.T) {
	reached := 0
	for _, s := range append(allStories(), scenarios(t)...) {
		a := s.assess()
		for _, language := range wording.Languages() {
			w := wording.For(language)
			note := bare(ProgressNote(a, s.issues, w))
			for i := range a.Plan.Goals {
				g := &a.Plan.Goals[i]
				if g.Achievement != plan.Achieved {
					continue
				}
				reached++
				if strings.Contains(note, bare(w.GoalShort(g))) {
					t.Errorf("%s, %s: a reached goal is said to remain", s.name, language)
				}
			}
		}
	}
	if reached == 0 {
		t.Error("no story has reached a goal")
	}
}
