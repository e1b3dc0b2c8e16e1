package service

import (
	"os"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/report"
	"evenreach.example/internal/report/chart"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// A motion without steps reaches every form, in every language.
func TestThirdMotionReachesEveryForm(t *testing.T) {
	body, err := os.ReadFile(scenarios + "/abduction-behind-the-rotations/input.json")
	if err != nil {
		t.Fatal(err)
	}
	got := answered(t, body)
	for _, language := range wording.Languages() {
		w := wording.For(language)
		motion, plain := w.Motion(shoulder.AbductionMotion), w.Plain().MotionShort(shoulder.AbductionMotion)
		writer := report.New(got.Assessment, got.Issues, w)
		forms := map[string]struct{ text, word string }{
			"text":          {report.Text(got.Assessment, got.Issues, w), motion},
			"progress note": {report.ProgressNote(got.Assessment, got.Issues, w), motion},
			"patient page":  {report.Patient(got.Assessment, w), plain},
			"narrative":     {writer.Narrative(), motion},
			"chart":         {string(chart.SVG(got.Assessment, w)), motion},
		}
		for name, form := range forms {
			if !strings.Contains(form.text, wording.Capital(form.word)) {
				t.Errorf("%s: the %s does not name %q", language, name, form.word)
			}
		}
	}
	codes := resultsOf(got.Bundle, fhir.CodeMotion, fhir.SNOMEDAbduction)
	for _, code := range []string{fhir.CodeLimbSymmetryIndex, fhir.CodeStrengthChange} {
		if !slices.Contains(codes, code) {
			t.Errorf("no Observation %s of abduction", code)
		}
	}
	if slices.Contains(codes, fhir.CodeRotationReadiness) {
		t.Error("abduction has a step")
	}
}

// resultsOf are the codes of the results with a component of a coded value.
func resultsOf(bundle *fhir.Bundle, component, value string) (codes []string) {
	for i := range bundle.Entry {
		o, ok := bundle.Entry[i].Resource.(*fhir.Observation)
		if !ok {
			continue
		}
		for _, c := range o.Component {
			concept, coded := c.Value.(*fhir.CodeableConcept)
			if coded && c.Code.Coding[0].Code == component && concept.Coding[0].Code == value {
				codes = append(codes, o.Code.Coding[0].Code)
			}
		}
	}
	return codes
}
