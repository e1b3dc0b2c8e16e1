package service

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocoltest"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/report"
	"evenreach.example/internal/wording"
	"evenreach.example/internal/wording/wordingtest"
)

const demandStories = "../../testdata/demands"

// demandPipeline has the example protocol with demands of work and sport.
func demandPipeline(t *testing.T) *Pipeline {
	t.Helper()
	pipeline := scenarioPipeline()
	pipeline.Protocols = Protocols{protocoltest.WorkAndSport(t)}
	return pipeline
}

func demandStory(t *testing.T, name string) *Answer {
	t.Helper()
	input, err := os.ReadFile(filepath.Join(demandStories, name, "input.json"))
	if err != nil {
		t.Fatal(err)
	}
	q, err := Decode(input)
	if err != nil {
		t.Fatal(err)
	}
	return assessedWith(t, demandPipeline(t), &q)
}

// The stories of a warehouse worker, and their answers for the record and on paper.
func TestDemandStories(t *testing.T) {
	tests := []struct {
		name string
		want []measure.Certainty // lifting from the floor, work overhead, throwing
	}{
		{"warehouse-worker-endurance-not-tested", []measure.Certainty{measure.ProbablyMet, measure.NotClear, measure.ClearlyNot}},
		{"warehouse-worker-endurance-tested", []measure.Certainty{measure.ProbablyMet, measure.ProbablyMet, measure.ClearlyNot}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a := demandStory(t, tt.name)
			for i, want := range tt.want {
				if d := &a.Assessment.Readiness.Demands[i]; d.Verdict != want {
					t.Errorf("%s: %v, want %v", d.Row.ID, d.Verdict, want)
				}
			}
			golden(t, filepath.Join(demandStories, tt.name, "golden.txt"), demandForms(a))
		})
	}
}

// demandForms are every form for people in English, what the record gets of each demand, and
// the other languages' note.
func demandForms(a *Answer) []byte {
	en := wording.For("en")
	parts := []string{
		report.Text(a.Assessment, a.Issues, en), report.FullText(a.Assessment, a.Issues, en),
		report.ProgressNote(a.Assessment, a.Issues, en), report.Patient(a.Assessment, en),
	}
	for _, language := range wording.Languages()[1:] {
		parts = append(parts, report.Text(a.Assessment, a.Issues, wording.For(language)), report.Patient(a.Assessment, wording.For(language)))
	}
	for _, o := range demandResults(a) {
		parts = append(parts, demandResult(o))
	}
	return []byte(strings.Join(parts, "\n----\n") + "\n")
}

func demandResults(a *Answer) (all []*fhir.Observation) {
	for _, e := range a.Resource().(*fhir.Bundle).Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok && o.Code.Coding[0].Code == fhir.CodeDemand {
			all = append(all, o)
		}
	}
	return all
}

// demandResult is an Observation in lines.
func demandResult(o *fhir.Observation) string {
	lines := []string{fmt.Sprintf("%s = %s, derived from %d", o.Code.Text, o.Value.(*fhir.CodeableConcept).Coding[0].Code, len(o.DerivedFrom))}
	for i := range o.Component {
		c := &o.Component[i]
		line := "  " + c.Code.Coding[0].Code + " " + c.Code.Text
		switch value := c.Value.(type) {
		case *fhir.Quantity:
			line += " = " + string(value.Value) + " " + value.Code
		case *fhir.CodeableConcept:
			line += " = " + value.Coding[0].Code + ", " + value.Text
		case fhir.String:
			line += " = " + string(value)
		default:
			line += " = absent, " + c.DataAbsentReason.Coding[0].Code
		}
		for _, r := range c.ReferenceRange {
			line += " (" + r.Text + ")"
		}
		for _, k := range c.Interpretation {
			line += " " + k.Coding[len(k.Coding)-1].Code
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

// Every form in every language names each demand with its verdict, in words of the
// language, and the report refers to its Observation.
func TestDemandsReachEveryForm(t *testing.T) {
	a := demandStory(t, "warehouse-worker-endurance-not-tested")
	for _, language := range wording.Languages() {
		w := wording.For(language)
		writer := report.New(a.Assessment, a.Issues, w)
		for i := range a.Assessment.Readiness.Demands {
			d := &a.Assessment.Readiness.Demands[i]
			for form, text := range map[string]string{
				"text": report.Text(a.Assessment, a.Issues, w), "full text": report.FullText(a.Assessment, a.Issues, w),
				"note": report.ProgressNote(a.Assessment, a.Issues, w), "narrative": writer.Narrative(),
			} {
				if flat := strings.Join(strings.Fields(text), " "); !strings.Contains(flat, strings.Join(strings.Fields(w.DemandVerdict(d)), " ")) {
					t.Errorf("%s: the %s does not say %q", language, form, w.DemandVerdict(d))
				}
			}
			if page := strings.Join(strings.Fields(report.Patient(a.Assessment, w)), " "); !strings.Contains(page, w.Demand(d.Row)) {
				t.Errorf("%s: the patient page does not name %q", language, w.Demand(d.Row))
			}
			for _, reason := range w.DemandReasons(d, a.Assessment.Readiness.Tissue.Healing.Phase) {
				if word := wordingtest.English(reason); language != "en" && word != "" {
					t.Errorf("%s: %q in %q", language, word, reason)
				}
			}
		}
	}
	results := demandResults(a)
	if len(results) != 3 {
		t.Fatalf("%d Observations of demands", len(results))
	}
	i := slices.IndexFunc(a.Resource().(*fhir.Bundle).Entry, func(e fhir.Entry) bool { _, ok := e.Resource.(*fhir.DiagnosticReport); return ok })
	referred := a.Resource().(*fhir.Bundle).Entry[i].Resource.(*fhir.DiagnosticReport).Result
	for _, e := range a.Resource().(*fhir.Bundle).Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok && slices.Contains(results, o) &&
			!slices.ContainsFunc(referred, func(r fhir.Reference) bool { return r.Reference == e.FullURL }) {
			t.Errorf("the report does not refer to %s", o.Code.Text)
		}
	}
}

// The patient is told of no demand that may begin while a red flag holds, and the reasons
// name the examination and no criterion.
func TestDemandsUnderARedFlag(t *testing.T) {
	q := evenWith(t)
	for _, e := range q.Bundle.Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok && o.Code.Coding[0].Code == fhir.LOINCPainVerbalRating {
			o.Value = &fhir.Quantity{Value: "8", Unit: "of 10", System: fhir.SystemUCUM, Code: "{score}"}
		}
	}
	a := assessedWith(t, demandPipeline(t), q)
	if !a.Assessment.Readiness.Examine() {
		t.Fatal("pain of 8 raises no red flag")
	}
	w := wording.For("en")
	for i := range a.Assessment.Readiness.Demands {
		d := &a.Assessment.Readiness.Demands[i]
		reasons := strings.Join(w.DemandReasons(d, a.Assessment.Readiness.Tissue.Healing.Phase), " ")
		if d.Verdict.Met() || !d.HeldBy(readiness.HeldByFlag) || !strings.Contains(reasons, "red flag") || strings.Contains(reasons, "met") {
			t.Errorf("%s: %v, %s", d.Row.ID, d.Verdict, reasons)
		}
	}
	if page := report.Patient(a.Assessment, w); strings.Contains(page, "begin again") {
		t.Errorf("the patient may begin again:\n%s", page)
	}
}
