package service

import (
	"bytes"
	"context"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/report"
	"evenreach.example/internal/wording"
)

var update = flag.Bool("update", false, "rewrite the golden files under testdata")

const scenarios = "../../testdata/scenarios"

// scenarioPipeline has a fixed clock, which is only asked whether a
// measurement lies in the future.
func scenarioPipeline() *Pipeline {
	return &Pipeline{
		Protocols: Protocols{protocol.Default()},
		Now:       func() time.Time { return time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC) },
	}
}

func answer(t *testing.T, body []byte) []byte {
	t.Helper()
	return fhirjson.Encode(answered(t, body).Resource())
}

func answered(t *testing.T, body []byte) *Answer {
	t.Helper()
	request, err := Decode(body)
	if err != nil {
		t.Fatal(err)
	}
	got, err := scenarioPipeline().Run(context.Background(), request)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func eachScenario(t *testing.T, run func(t *testing.T, folder string, input []byte)) {
	t.Helper()
	inputs, err := filepath.Glob(filepath.Join(scenarios, "*", "input.json"))
	if err != nil || len(inputs) < 10 {
		t.Fatalf("%d scenarios found, want at least 10 (%v)", len(inputs), err)
	}
	for _, path := range inputs {
		folder := filepath.Dir(path)
		t.Run(filepath.Base(folder), func(t *testing.T) {
			input, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			run(t, folder, input)
		})
	}
}

// wholeAnswers are the stories whose whole answer is kept. Of the others the
// decisions hold its digest, because nobody can review so many Bundles.
var wholeAnswers = []string{"ten-visits", "sudden-strength-loss"}

func TestScenarios(t *testing.T) {
	eachScenario(t, func(t *testing.T, folder string, input []byte) {
		if story, err := os.ReadFile(filepath.Join(folder, "README.md")); err != nil || len(story) < 200 {
			t.Errorf("the clinical story is missing or too short: %v", err)
		}
		a := answered(t, input)
		whole := fhirjson.Indent(fhirjson.Encode(a.Resource()))
		golden(t, filepath.Join(folder, "golden.txt"), []byte(report.Text(a.Assessment, a.Issues, wording.For("en"))))
		golden(t, filepath.Join(folder, "decisions.txt"), decisions(a.Assessment, whole))
		if slices.Contains(wholeAnswers, filepath.Base(folder)) {
			golden(t, filepath.Join(folder, "golden.json"), whole)
		}
	})
}

// golden holds a text against the file that was reviewed.
func golden(t *testing.T, file string, got []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("the answer is not %s; run the test with -update and read the difference", file)
	}
}

// The places of dropped inputs move with the entries; nothing else may.
var place = regexp.MustCompile(`entry\[\d+\]`)

func TestOrderOfEntriesDoesNotMatter(t *testing.T) {
	eachScenario(t, func(t *testing.T, _ string, input []byte) {
		resource, err := fhirjson.Decode(input, fhir.DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		entries := bundleOf(resource).Entry
		shuffled := func(seed uint64) []byte {
			rand.New(rand.NewPCG(seed, 1)).Shuffle(len(entries), func(i, j int) { entries[i], entries[j] = entries[j], entries[i] })
			return answer(t, fhirjson.Encode(resource))
		}
		results := func(text []byte) int { return len(place.FindAll(text, -1)) }
		want := answer(t, input)
		for seed := range uint64(5) {
			got := shuffled(seed)
			if results(want) == 0 && !bytes.Equal(got, want) {
				t.Fatalf("order %d gives another answer", seed)
			}
			if a, b := identifiers(want), identifiers(got); !bytes.Equal(a, b) {
				t.Fatalf("order %d gives other identifiers", seed)
			}
		}
	})
}

func bundleOf(r fhir.Resource) *fhir.Bundle {
	if p, ok := r.(*fhir.Parameters); ok {
		for _, parameter := range p.Parameter {
			if parameter.Resource != nil {
				return bundleOf(parameter.Resource)
			}
		}
	}
	return r.(*fhir.Bundle)
}

var identifier = regexp.MustCompile(`"ifNoneExist":"[^"]*"`)

func identifiers(text []byte) []byte {
	return bytes.Join(identifier.FindAll(text, -1), []byte("\n"))
}

// The clock only says whether a measurement lies in the future. If it
// jumps ahead, the answer has the same bytes; if it is behind, measurements are
// left out, and it is said.
func TestClockDoesNotChangeTheAnswer(t *testing.T) {
	eachScenario(t, func(t *testing.T, _ string, input []byte) {
		request, err := Decode(input)
		if err != nil {
			t.Fatal(err)
		}
		at := func(now time.Time) (*Answer, error) {
			p := scenarioPipeline()
			p.Now = func() time.Time { return now }
			return p.Run(context.Background(), request)
		}
		want := answer(t, input)
		for _, years := range []int{1, 3} { // one scenario has a measurement of 2031, which is dropped
			now := scenarioPipeline().Now().AddDate(years, 0, 0)
			got, err := at(now)
			if err != nil || !bytes.Equal(fhirjson.Encode(got.Resource()), want) {
				t.Errorf("another answer at %v: %v", now, err)
			}
		}
		got, err := at(time.Date(1999, 1, 1, 0, 0, 0, 0, time.UTC))
		var issues []fault.Issue
		if err != nil {
			issues = asErrors(err).Issues
		} else {
			issues = got.Issues
		}
		if !slices.ContainsFunc(issues, func(i fault.Issue) bool { return i.Kind == fault.DateFuture }) {
			t.Errorf("with a clock of 1999 no measurement is said to lie in the future: %v, %v", err, issues)
		}
	})
}
