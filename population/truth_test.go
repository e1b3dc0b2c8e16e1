package population

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/report/pdf/pdftest"
	"evenreach.example/internal/report/typeface"
	"evenreach.example/internal/wording"
	"evenreach.example/population/invent"
)

// What is computed from invented patients is the truth that they were drawn from.
func TestTruthIsFound(t *testing.T) {
	much(t)
	folder, _ := export(t, invent.Options{Patients: 800, Seed: 37, Clean: true, Plain: true})
	summary := runOf(t, options(folder, t.TempDir(), NoResults))
	curves, points := 0, 0
	for _, c := range summary.Curves {
		if c.Since != sinceFirst {
			continue
		}
		curves++
		for _, p := range c.Points {
			// A visit is up to a week later than its whole week; the truth of its middle.
			// The tolerance is four standard errors of the percentile, and what a week changes.
			points++
			weeks := float64(p.Week)
			if p.Week > 0 {
				weeks += 0.43
			}
			tolerance := 1 + 4*15/math.Sqrt(float64(p.Patients))
			for fraction, got := range map[float64]float64{0.1: p.P10, 0.5: p.P50, 0.9: p.P90} {
				if want := invent.Index(fraction, weeks); math.Abs(got-want) > tolerance {
					t.Errorf("%s %s, week %d: percentile %v is %v, want %v", c.Motion, c.Position, p.Week, fraction, got, want)
				}
			}
		}
	}
	if curves != 6 || points < 60 {
		t.Errorf("%d curves with %d points, want 6 with many", curves, points)
	}
	within := 0
	for _, e := range summary.Error {
		if e.Low <= 100*invent.Error && 100*invent.Error <= e.High {
			within++
		}
	}
	// Twelve intervals of 95 %; three misses or more have a probability of 2 %.
	if len(summary.Error) != 12 || within < 9 {
		t.Errorf("%d of %d limits hold the true error of %v %%", within, len(summary.Error), 100*invent.Error)
	}
	// The instrument that reads too much from a month on is found, and the others are not,
	// but for chance.
	outside := map[string]int{}
	for _, d := range summary.Devices {
		for _, m := range d.Months {
			if m.Outside {
				outside[d.Device]++
			}
		}
	}
	if len(summary.Devices) != 4 || outside["d3"] == 0 || outside["d0"]+outside["d1"]+outside["d2"] > 1 {
		t.Errorf("months outside by instrument: %v of %d, want only d3", outside, len(summary.Devices))
	}
}

// Ordinary re-checks tell nothing about the error of measurement.
func TestOnlyPlannedRetestsCount(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 200, Seed: 43, Clean: true, Plain: true})
	if marked := runOf(t, options(folder, t.TempDir(), NoResults)); len(marked.Error) == 0 {
		t.Fatal("no error from planned re-tests")
	}
	name := filepath.Join(folder, "Encounter.000.ndjson")
	text := strings.ReplaceAll(string(readFile(t, name)), "planned-retest", "another-tag")
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	if unmarked := runOf(t, options(folder, t.TempDir(), NoResults)); len(unmarked.Error) != 0 {
		t.Errorf("an error of measurement without planned re-tests: %+v", unmarked.Error)
	}
}

// Ready for the first time is found by looking at some visits only; looking at all of them
// finds the same.
func TestReadyIsThatOfEveryVisit(t *testing.T) {
	much(t)
	folder, _ := export(t, invent.Options{Patients: 250, Seed: 47, Clean: true, Plain: true})
	bundles, _ := grouped(t, folder)
	assessor := &Assessor{Pipeline: pipeline(), Identity: Kept()}
	ready := 0
	for id, body := range bundles {
		var b struct {
			Entry []struct{ Resource json.RawMessage }
		}
		if err := json.Unmarshal(body, &b); err != nil {
			t.Fatal(err)
		}
		c := &caseOf{assessor: assessor, name: id}
		for _, e := range b.Entry {
			c.lines = append(c.lines, Line{Patient: id, Text: e.Resource})
		}
		request, err := c.decode()
		if err != nil {
			t.Fatal(err)
		}
		if c.answer, err = assessor.run(t.Context(), request); err != nil {
			t.Fatal(err)
		}
		v := c.view()
		got, want := v.ready(), everyVisit(v)
		if got.Seen != want.Seen || got.After != want.After || got.At != want.At {
			t.Errorf("%s: ready %+v, want %+v", id, *got, *want)
		}
		if want.Seen {
			ready++
		}
	}
	if ready == 0 {
		t.Error("nobody was ready: the test shows nothing")
	}
}

// everyVisit assesses the shoulder at each visit.
func everyVisit(v *view) *Ready {
	before := 0.0
	for _, session := range v.sessions {
		then := *v.a.Episode
		then.Sessions = then.Sessions[:session+1]
		at := v.weeks(v.when(session))
		if assess.Assess(&then, v.a.Protocol, v.when(session)).Readiness.Overall == readiness.ReadyForFunctional {
			return &Ready{After: hundredth(before), At: hundredth(at), Seen: true}
		}
		before = at
	}
	return &Ready{After: hundredth(before)}
}

// The pages say above their curves what these do not show, in every language, and the page
// about all names nobody.
func TestPagesSayWhatTheyDoNotShow(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 150, Seed: 53})
	for _, language := range wording.Languages() {
		o := options(folder, t.TempDir(), NoResults)
		o.Summary.Words = wording.For(language)
		runOf(t, o)
		texts := o.Summary.Words.Population()
		report, clinic := string(readFile(t, filepath.Join(o.Out, "report.html"))), string(readFile(t, filepath.Join(o.Out, "clinic.html")))
		for _, text := range []string{texts.CurvesCaveat, texts.ReadyCaveat, texts.NoRanking, texts.SmallCells} {
			if !strings.Contains(report, escaped(text)) {
				t.Errorf("%s: the report does not say: %s", language, text)
			}
		}
		if strings.Contains(report, ">p1<") || !strings.Contains(clinic, ">p1<") || !strings.Contains(clinic, escaped(texts.ForClinic)) {
			t.Errorf("%s: patients are named on the wrong page", language)
		}
		checkPaper(t, o, language)
	}
}

// checkPaper holds that the report on paper says what the page does, and is the same each time.
func checkPaper(t *testing.T, o Options, language string) {
	t.Helper()
	document := readFile(t, filepath.Join(o.Out, "report.pdf"))
	pages, err := pdftest.Pages(document)
	if err != nil {
		t.Fatal(err)
	}
	said := strings.Join(strings.Fields(strings.Join(slices.Concat(pages...), " ")), " ")
	texts := o.Summary.Words.Population()
	for _, text := range []string{texts.Title, texts.CurvesCaveat, texts.ReadyCaveat, texts.NoRanking, texts.SmallCells, texts.HowSurvival} {
		if !strings.Contains(said, strings.Join(strings.Fields(typeface.Printable(text)), " ")) {
			t.Errorf("%s: the report on paper does not say: %s", language, text)
		}
	}
	if _, err := Summarise(o.Out, o.Summary); err != nil || !bytes.Equal(document, readFile(t, filepath.Join(o.Out, "report.pdf"))) {
		t.Errorf("%s: summarised again, the report on paper is another: %v", language, err)
	}
}

func escaped(text string) string {
	p := &page{}
	p.text(text)
	return string(p.b)
}

// The summary of a small export, to be looked at when it changes.
func TestGolden(t *testing.T) {
	folder, _ := export(t, invent.Options{Patients: 60, Seed: 59, Giant: 200})
	out := t.TempDir()
	runOf(t, options(folder, out, NoResults))
	for _, name := range []string{"summary.json", "lists.json"} {
		golden := filepath.Join("testdata", name)
		got := bytes.ReplaceAll(readFile(t, filepath.Join(out, SummaryFolder, name)), []byte(protocol.Default().Digest()), []byte("digest"))
		if *update {
			if err := os.WriteFile(golden, got, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if want := readFile(t, golden); string(got) != string(want) {
			t.Errorf("%s differs from testdata; -update writes it anew", name)
		}
	}
}

// much leaves out a test that computes much and shares nothing between goroutines, where -short
// asks for that: the race detector makes it many times slower, and finds nothing in it.
func much(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("left out by -short") //nolint:forbidigo // the race detector leaves it out; without -short it runs
	}
}
