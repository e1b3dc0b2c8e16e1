package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/report/chart"
	"evenreach.example/internal/wording"
)

var update = flag.Bool("update", false, "write the golden reports anew, to be read before they are kept")

func (s story) assess() *assess.Assessment {
	p := protocol.Default()
	if s.protocol != nil {
		p = s.protocol
	}
	return assess.Assess(s.episode, p, s.asOf)
}

func words() *wording.Catalogue { return wording.For("en") }

func allStories() []story { return append(stories(), corners()...) }

// The golden reports were read line by line; figures are checked by
// TestFiguresComputedByHand. They end before the rules, whose citations are the
// protocol's and are checked by TestSourcesAreCited.
func TestTextAsRead(t *testing.T) {
	withHomeExercises, third := stories()[0], stories()[1]
	for _, s := range stories() {
		compare(t, s, "text", words())
	}
	for _, language := range wording.Languages() {
		for _, form := range []string{"text", "patient", "home", "progress note"} {
			compare(t, third, form, wording.For(language))
		}
		// The third visit has no exercise for home: its exercises need a partner.
		compare(t, withHomeExercises, "home", wording.For(language))
	}
}

// compare holds a form for a terminal against its golden file.
func compare(t *testing.T, s story, form string, w *wording.Catalogue) {
	t.Helper()
	name := strings.Join([]string{s.name, form, w.Language()}, " ")
	t.Run(name, func(t *testing.T) {
		got, _, _ := strings.Cut(textForms(s, w)[form], strings.ToUpper(w.Headings.Sources))
		file := filepath.Join("testdata", strings.NewReplacer(" ", "-", ",", "").Replace(name)+".txt")
		if *update {
			if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if got != string(want) {
			t.Errorf("differs from %s:\n%s", file, got)
		}
	})
}

// Every form states the figures, and the words for them, that follow from the
// trials by pencil and paper.
func TestFiguresComputedByHand(t *testing.T) {
	for _, tt := range []struct {
		story  int
		want   string
		source string
	}{
		{0, "62.0 N", "mean of 60, 64 and 62"},
		{0, "97.0 N", "mean of 95, 99 and 97"},
		{0, "63.9", "100 x 62 / 97 = 63.92"},
		{0, "needs 72.8 N on the right", "75 % of 97 = 72.75, rounded up"},
		{0, "82.0", "100 x 100 / 122 = 81.97"},
		{0, "right 0.62", "62 / 100"},
		{0, "active flexion needs 135 degrees on the right; measured 110 degrees", "75 % of 180"},
		{1, "69.8", "100 x 67 / 96 = 69.79"},
		{1, "needs 72.0 N on the right; measured 67.0 N", "75 % of 96"},
		{1, "needs 100.8 N on the right; measured 97.5 N", "90 % of 112"},
		{1, "+19.0 N (+26.8 %) since the first on 2026-01-05", "90 - 71 = 19; 19 / 71 = 26.76 %"},
		{1, "MDC 22.8 N", "1.96 x (67 + 60.5) / 2 x sqrt(10^2 + 14^2) % = 21.50 for three trials; two: x sqrt(0.75 + 0.25 x 3 / 2) = 22.80"},
		{1, "1.15 N/kg", "90 / 78 = 1.154"},
		{1, "even, to be confirmed", "90.0 % once"},
		{2, "6.0 weeks since the cuff repair", "2026-01-19 to 2026-03-02 is 42 days"},
		{3, "97.0 N", "mean of 96, 97 and 98"},
	} {
		s := stories()[tt.story]
		a := s.assess()
		for form, got := range map[string]string{
			"text":      spaced(FullText(a, s.issues, words())),
			"narrative": spaced(plain(t, New(a, s.issues, words()).Narrative())),
			"pdf":       printedText(t, a, s.issues, words()),
		} {
			if !strings.Contains(got, tt.want) {
				t.Errorf("%s, %s: no %q (%s)", s.name, form, tt.want, tt.source)
			}
		}
	}
}

var spaces = regexp.MustCompile(`\s+`)

func spaced(s string) string { return spaces.ReplaceAllString(s, " ") }

// plain is the character data of a narrative.
func plain(t *testing.T, div string) string {
	t.Helper()
	var b strings.Builder
	decoder := xml.NewDecoder(strings.NewReader(div))
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			return b.String()
		}
		if err != nil {
			t.Fatalf("not well-formed: %v", err)
		}
		if text, ok := token.(xml.CharData); ok {
			b.WriteString(" " + string(text))
		}
	}
}

var numeral = regexp.MustCompile(`\d{4}-\d\d-\d\d|[+-]?\d+(?:\.\d+)?`)

// Whatever stands in a narrative stands in the text, number by number.
func TestAllFormsHoldTheSameNumbers(t *testing.T) {
	for _, s := range allStories() {
		t.Run(s.name, func(t *testing.T) {
			a := s.assess()
			text := numeral.FindAllString(FullText(a, s.issues, words()), -1)
			for form, div := range map[string]string{
				"narrative": New(a, s.issues, words()).Narrative(), "plan narrative": New(a, nil, words()).PlanNarrative(),
			} {
				numbers := numeral.FindAllString(plain(t, div), -1)
				if len(numbers) == 0 {
					t.Errorf("%s holds no number", form)
				}
				for _, n := range numbers {
					if !slices.Contains(text, n) {
						t.Errorf("%s holds %s, the text does not", form, n)
					}
				}
			}
		})
	}
}

// Every index, strength and date that the assessment decides with is in both
// forms of the findings.
func TestEveryDecidingNumberIsShown(t *testing.T) {
	for _, s := range allStories() {
		t.Run(s.name, func(t *testing.T) {
			a := s.assess()
			text, narrative := spaced(FullText(a, s.issues, words())), spaced(plain(t, New(a, s.issues, words()).Narrative()))
			labels := labelsOf(chart.Of(a, words()))
			for i := range a.Readiness.Motions {
				for k := range a.Readiness.Motions[i].Positions {
					x := a.Readiness.Motions[i].Positions[k].Symmetry
					if x == nil {
						continue
					}
					if index := shown(x)[0]; !slices.Contains(labels, index) {
						t.Errorf("%s %s: the chart does not show %s", x.Motion, x.Position, index)
					}
					for _, want := range shown(x) {
						if !strings.Contains(text, want) || !strings.Contains(narrative, want) {
							t.Errorf("%s %s: %s is not shown", x.Motion, x.Position, want)
						}
					}
				}
			}
		})
	}
}

// shown is index and scores, written without the catalogue.
func shown(s *measure.Symmetry) []string {
	even := protocol.Default().Symmetry.Even.Value
	involved, comparison := s.Involved.Value, s.Comparison.Value
	if s.Involved.Torque != nil && s.Comparison.Torque != nil {
		involved, comparison = *s.Involved.Torque, *s.Comparison.Torque
	}
	return []string{s.Index.Text(s.Index.PlacesFor(even, 1)), involved.Text(1), comparison.Text(1)}
}

func TestStoriesCoverEveryStatus(t *testing.T) {
	seen := map[readiness.Overall]bool{}
	for _, s := range allStories() {
		seen[s.assess().Readiness.Overall] = true
	}
	for _, o := range readiness.Overalls {
		if !seen[o] {
			t.Errorf("no story is %s", o)
		}
	}
}

func TestStandingCautionsAreInEveryForm(t *testing.T) {
	everywhere(t, func(t *testing.T, s story, form, text string, w *wording.Catalogue) {
		switch {
		case forPatients(form) || form == "conclusion":
			return
		case form == "text" || form == "pdf":
			if !strings.Contains(bare(text), bare(w.CautionsInBrief())) {
				t.Errorf("%s: the cautions in brief are missing", form)
			}
			return
		case strings.HasPrefix(form, "progress note"):
			if !strings.Contains(bare(text), bare(w.NoteCaution())) {
				t.Errorf("%s: its caution is missing", form)
			}
			return
		}
		for _, k := range [...]plan.Caution{plan.SupportsJudgement, plan.LocalRulesGovern, plan.ReferFirst, plan.RotatorsOnly} {
			if !strings.Contains(bare(text), bare(w.Caution(k))) {
				t.Errorf("%s: caution %s is missing", form, k)
			}
		}
	})
}

func TestTextFitsTheTerminal(t *testing.T) {
	for _, language := range wording.Languages() {
		for _, s := range allStories() {
			s.issues = append(s.issues, fault.Issue{Kind: fault.BadValue, Path: "Bundle." + strings.Repeat("entry", 60)})
			for form, text := range textForms(s, wording.For(language)) {
				for line := range strings.SplitSeq(text, "\n") {
					if n := utf8.RuneCountInString(line); n > 80 {
						t.Errorf("%s, %s, %s: %d characters: %s", language, s.name, form, n, line)
					}
					if strings.TrimRight(line, " ") != line {
						t.Errorf("%s, %s, %s: spaces at the end of %q", language, s.name, form, line)
					}
				}
			}
		}
	}
}

func TestSameInputSameReport(t *testing.T) {
	for i, s := range allStories() {
		again := allStories()[i]
		if !maps.Equal(textForms(s, words()), textForms(again, words())) || !maps.Equal(divs(s, words()), divs(again, words())) {
			t.Errorf("%s: a text or narrative differs", s.name)
		}
		if !maps.EqualFunc(documents(t, s, words()), documents(t, again, words()), bytes.Equal) {
			t.Errorf("%s: a document differs", s.name)
		}
	}
}

// Each threshold in use stands with its citation.
func TestSourcesAreCited(t *testing.T) {
	p := protocol.Default()
	for _, tt := range []struct {
		story     int
		citations []string
	}{
		{0, []string{p.Symmetry.GoodEnough.Source, p.Symmetry.Even.Source, p.Range.Fraction.Source, p.Range.Minimum.Source, p.Pain.Gate.Source, p.Error.Usual.Source, p.Error.Unstabilised.Source, p.Ratio.AtSide.Source}},
		{1, []string{p.Error.Change.Source, p.Range.Change.Source, p.Pain.Change.Source, p.Symmetry.ConfirmAfter.Source, p.Course.AllEven.Source, p.Course.Plateau.Source, p.Trials.Share.Source, p.Error.FloorForce.Source}},
		{2, []string{p.Tissue.ResistedAfter.Source, p.Tissue.SportAfter.Source}},
		{3, []string{p.Dose.Functional.Source}},
	} {
		s := stories()[tt.story]
		a := s.assess()
		for _, citation := range tt.citations {
			for form, got := range map[string]string{
				"text":       FullText(a, s.issues, words()),
				"narratives": plain(t, New(a, s.issues, words()).Narrative()) + plain(t, New(a, nil, words()).PlanNarrative()),
			} {
				if !strings.Contains(spaced(got), citation) {
					t.Errorf("%s, %s: no %q", s.name, form, citation)
				}
			}
		}
	}
}
