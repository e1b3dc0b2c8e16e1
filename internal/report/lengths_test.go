package report

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
	"evenreach.example/internal/wording"
)

// randomEpisodes is how many episodes are drawn, each read in one of the languages in turn.
const randomEpisodes = 1000

// Whatever was measured, a form keeps to the lines and pages that its reader has time for.
// An episode is drawn by its number, so that a page that is too long can be looked at.
func TestLengthsOfRandomEpisodes(t *testing.T) {
	episode := rapid.Custom(shouldertest.Draw)
	drawn := randomEpisodes
	if testing.Short() { // for the race detector, which makes it many times slower
		drawn /= 10
	}
	for number := range drawn {
		e := episode.Example(number)
		s := story{name: fmt.Sprint("episode ", number), episode: e, asOf: e.Sessions[len(e.Sessions)-1].When}
		languages := wording.Languages()
		papers := [...]typeset.Paper{typeset.A4, typeset.Letter}
		checkLengths(t, s, wording.For(languages[number%len(languages)]), papers[number%len(papers)])
	}
}

// The same of the clinical stories of the service, in each language.
func TestLengthsOfScenarios(t *testing.T) {
	for _, s := range scenarios(t) {
		for _, language := range wording.Languages() {
			checkLengths(t, s, wording.For(language), typeset.A4, typeset.Letter)
		}
	}
}

// scenarios are the clinical stories of the service.
func scenarios(t *testing.T) (all []story) {
	t.Helper()
	inputs, err := filepath.Glob("../../testdata/scenarios/*/input.json")
	if err != nil || len(inputs) < 40 {
		t.Fatalf("%d scenarios, %v", len(inputs), err)
	}
	for _, path := range inputs {
		body, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		resource, err := fhirjson.DecodeInput(body, fhir.DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		reading, err := intake.Read(inputOf(resource))
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, story{name: filepath.Base(filepath.Dir(path)), episode: &reading.Episode, asOf: reading.AsOf, issues: reading.Issues})
	}
	return all
}

// inputOf is what a scenario sends: a Bundle, or the parameters with it.
func inputOf(r fhir.Resource) intake.Input {
	in := intake.Input{}
	switch r := r.(type) {
	case *fhir.Bundle:
		in.Bundle = r
	case *fhir.Parameters:
		for i := range r.Parameter {
			p := &r.Parameter[i]
			if b, ok := p.Resource.(*fhir.Bundle); ok {
				in.Bundle = b
			}
			if p.Name == "involvedSide" {
				in.Involved = shoulder.Right // of both
			}
		}
	}
	return in
}

// checkLengths holds every form against what its reader has time for.
func checkLengths(t *testing.T, s story, w *wording.Catalogue, papers ...typeset.Paper) {
	t.Helper()
	a := s.assess()
	report, note, patient, home := New(a, s.issues, w), progress(a, s.issues, w), forPatient(a, w), forHome(a, w)
	text, name := string(report.Text()), w.Language()+", "+s.name
	head, _, _ := strings.Cut(text, "\n\n")
	for _, form := range []struct {
		name, text string
		most       int
	}{
		{"summary", head, 12}, // and the title; the end of its last line is cut off
		{"text", text, 60},
		{"note", note.text(), 62},
		{"patient", patient.text(), 45},
	} {
		if n := strings.Count(form.text, "\n"); n > form.most {
			t.Errorf("%s: %s has %d lines:\n%s", name, form.name, n, form.text)
		}
	}
	checkSummary(t, name, &report.first, repeatedLines(report), map[string]string{"text": text, "note": note.text(), "full": report.full().text()})
	printed, full := report.printedPage(), report.printed()
	for _, paper := range papers {
		sheet := printedForPatient(a, w, paper)
		for _, form := range []struct {
			name   string
			v      *view
			blocks []typeset.Block
			format typeset.Format
			most   int
		}{
			{"report", printed, printed.inColumns(), onePage(paper), 2},
			{"full report", full, full.inColumns(), dense(paper), 4}, // for who asks for it, with its sources
			{"note", note, note.inColumns(), onePage(paper), 1},
			{"patient", sheet, sheet.inOneColumn(), onePage(paper), 1},
			{"home", home, home.inOneColumn(), twoPages(paper), 2},
		} {
			if n := len(form.v.pages(form.blocks, form.format, a, w)); n > form.most {
				t.Errorf("%s: %s has %d pages", name, form.name, n)
			}
		}
	}
}

// telling are the numbers that measure something; those that only count are left out.
var telling = regexp.MustCompile(`\d{4}-\d\d-\d\d|[+-]?\d+\.\d+|[+-]\d+`)

// checkSummary holds that every form begins with the summary, in its order, and that each
// number of what the rest of the full report says too stands there: of changes, steps and
// dates, but not of what only the summary has room for, as the values behind an alarm.
func checkSummary(t *testing.T, name string, s *summary, repeated []string, forms map[string]string) {
	t.Helper()
	lines := slices.Concat(s.who, s.alarms, []string{s.decision}, s.lines)
	for form, text := range forms {
		head, _, _ := strings.Cut(text, "\n\n")
		said := bare(strings.ReplaceAll(head, "! ", ""))
		for _, line := range lines {
			at := strings.Index(said, bare(line))
			if at < 0 {
				t.Errorf("%s: %s does not say %q in its place", name, form, line)
				return
			}
			said = said[at+len(bare(line)):]
		}
	}
	_, rest, _ := strings.Cut(forms["full"], "\n\n")
	known := telling.FindAllString(normal(rest), -1)
	for _, number := range telling.FindAllString(normal(strings.Join(repeated, " ")), -1) {
		if !slices.Contains(known, number) {
			t.Errorf("%s: the summary holds %s, the rest does not", name, number)
		}
	}
}

// normal writes days and decimals in one form.
func normal(text string) string {
	return decimalComma.ReplaceAllString(europeanDay.ReplaceAllString(text, "$3-$2-$1"), "$1.$2")
}

// repeatedLines are the lines of the summary that the rest of the report says too.
func repeatedLines(r *Writer) (lines []string) {
	if !r.Readiness.Examine() {
		lines = append(append(lines, r.changedSides(sinceLast)...), r.w.Stands(r.Readiness, wording.MostNamed)...)
	}
	return append(lines, r.w.Soon(r.Plan, false))
}
