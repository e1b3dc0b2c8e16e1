package report

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/report/chart"
	"evenreach.example/internal/report/drawing"
	"evenreach.example/internal/report/pdf/pdftest"
	"evenreach.example/internal/report/typeface"
	"evenreach.example/internal/report/typeset"
	"evenreach.example/internal/wording"
)

// linesOf are the lines of a printed document, without the feet of its pages.
func linesOf(t *testing.T, document []byte) (lines []string, pages int) {
	t.Helper()
	all, err := pdftest.Pages(document)
	if err != nil {
		t.Fatal(err)
	}
	for _, page := range all {
		lines = append(lines, page[:len(page)-1]...)
	}
	return lines, len(all)
}

// printedText is the text of the printed report.
func printedText(t *testing.T, a *assess.Assessment, issues []fault.Issue, w *wording.Catalogue) string {
	t.Helper()
	document, err := FullPDF(a, issues, w, typeset.A4)
	if err != nil {
		t.Fatal(err)
	}
	lines, _ := linesOf(t, document)
	return spaced(strings.Join(lines, " "))
}

// bare is a text without white space and without the marks of lists.
func bare(text string) string {
	return strings.Join(strings.Fields(strings.NewReplacer("•", "", "–", "").Replace(typeface.Printable(text))), "")
}

// labelsOf are the texts of a chart.
func labelsOf(d *drawing.Drawing) (all []string) {
	for _, s := range d.Shapes {
		if l, ok := s.(drawing.Label); ok {
			all = append(all, l.Text)
		}
	}
	return all
}

// withoutChart drops the lines of the chart, which stand together, and reports
// whether it is there.
func withoutChart(lines []string, chart *drawing.Drawing) ([]string, bool) {
	labels := labelsOf(chart)
	for i := range lines {
		if end := i + len(labels); end <= len(lines) && slices.Equal(lines[i:end], labels) {
			return slices.Delete(slices.Clone(lines), i, end), true
		}
	}
	return lines, false
}

// The printed report says what the text says, letter by letter: every sentence
// of the text is in it, and every line of it is in the text.
func TestPDFSaysWhatTheTextSays(t *testing.T) {
	for _, s := range allStories() {
		t.Run(s.name, func(t *testing.T) {
			a := s.assess()
			document, err := FullPDF(a, s.issues, words(), typeset.A4)
			if err != nil {
				t.Fatal(err)
			}
			lines, _ := linesOf(t, document)
			lines, drawn := withoutChart(lines, chart.Of(a, words()))
			if drawn != (len(a.Measurements.Symmetries) > 0) {
				t.Errorf("chart drawn: %v, with %d indices", drawn, len(a.Measurements.Symmetries))
			}
			whole, said := bare(strings.Join(lines, " ")), ""
			for _, text := range textsOf(New(a, s.issues, words()).full()) {
				said += bare(text) + "\n"
				if !strings.Contains(whole, bare(text)) {
					t.Errorf("%q is not printed", text)
				}
			}
			for _, line := range lines {
				if !strings.Contains(said, bare(line)) {
					t.Errorf("%q is printed, and not in the text", line)
				}
			}
			for _, n := range numeral.FindAllString(FullText(a, s.issues, words()), -1) {
				if !strings.Contains(whole, n) {
					t.Errorf("the text holds %s, the page does not", n)
				}
			}
		})
	}
}

// textsOf are all the texts of a view.
func textsOf(v *view) []string {
	all := append(slices.Concat(v.alarms, v.lines), v.title, v.decision, strings.Join(v.who, " "))
	for _, s := range v.sections {
		if s.empty() {
			continue
		}
		all = append(all, s.heading)
		for _, e := range s.entries {
			all = append(append(all, e.text), e.points...)
		}
		if s.table == nil {
			continue
		}
		for _, c := range s.table.columns {
			all = append(all, c.head)
		}
		for _, g := range s.table.groups {
			all = append(all, g.name)
			for _, r := range g.rows {
				all = append(append(all, r.cells...), strings.Join(r.notes, " "))
			}
		}
	}
	return all
}

// The patient has a sheet of paper with two sides; so has the clinician, and a third page
// for the rules and their sources. German is longer, and so is a story with something to
// say about all six tests of many visits.
func TestPDFIsShort(t *testing.T) {
	for _, language := range wording.Languages() {
		for _, s := range allStories() {
			for form, document := range documents(t, s, wording.For(language)) {
				most := 3
				if forPatients(form) {
					most = 2
				}
				if _, pages := linesOf(t, document); pages > most {
					t.Errorf("%s, %s, %s: %d pages", language, s.name, form, pages)
				}
				if got := pdftest.Info(document, "Lang"); got != language {
					t.Errorf("%s, %s, %s: language %q", language, s.name, form, got)
				}
				if title := pdftest.Info(document, "Title"); title == "" {
					t.Errorf("%s, %s, %s: no title", language, s.name, form)
				}
			}
		}
	}
}

// A clinic may write at any length: it goes on to further lines and pages.
func TestLongTextsArePrinted(t *testing.T) {
	long := strings.Repeat("a protocol of a clinic that likes to explain itself ", 60)
	p := *protocol.Default()
	p.ID, p.Version = strings.Repeat("clinic-protocol-", 30), strings.Repeat("1.0", 100)
	p.Symmetry.Even.Source, p.Dose.RhythmicStabilisation.Text = long, long
	a := assess.Assess(third(), &p, day("2026-03-30"))
	issues := []fault.Issue{{Kind: fault.UnknownElement, Path: strings.Repeat("Bundle.entry", 100), Detail: long}}
	document, err := FullPDF(a, issues, words(), typeset.A4)
	if err != nil {
		t.Fatal(err)
	}
	lines, pages := linesOf(t, document)
	whole := bare(strings.Join(lines, " "))
	for _, want := range []string{p.ID, p.Version, issues[0].Path, long} {
		if !strings.Contains(whole, bare(want)) {
			t.Errorf("%.60q is not printed", want)
		}
	}
	if pages < 3 {
		t.Errorf("%d pages for so much text", pages)
	}
}

func BenchmarkPDF(b *testing.B) {
	s := stories()[1]
	a := s.assess()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := FullPDF(a, s.issues, words(), typeset.A4); err != nil {
			b.Fatal(err)
		}
	}
}
