package service

import (
	"encoding/json"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/report"
	"evenreach.example/internal/wording"
	"evenreach.example/internal/wording/wordingtest"
)

// Every form of every scenario is in its language, and so is what people read in the
// Bundle, and the cards.
func TestScenariosAreInTheirLanguage(t *testing.T) {
	for _, language := range wording.Languages()[1:] {
		t.Run(language, func(t *testing.T) {
			eachScenario(t, func(t *testing.T, _ string, input []byte) {
				for form, text := range formsIn(t, language, input) {
					if found := wordingtest.English(text); found != "" {
						t.Errorf("%s: the word %q in %.2000s", form, found, text)
					}
				}
			})
		})
	}
}

func formsIn(t *testing.T, language string, input []byte) map[string]string {
	t.Helper()
	request, err := Decode(input)
	if err != nil {
		t.Fatal(err)
	}
	p := scenarioPipeline()
	p.Words = wording.For(language)
	a, err := p.Run(t.Context(), request)
	if err != nil {
		t.Fatal(err)
	}
	forms := map[string]string{
		"text":          report.Text(a.Assessment, a.Issues, p.Words),
		"full text":     report.FullText(a.Assessment, a.Issues, p.Words),
		"patient":       report.Patient(a.Assessment, p.Words),
		"home":          report.Home(a.Assessment, p.Words),
		"progress note": report.ProgressNote(a.Assessment, a.Issues, p.Words),
	}
	for _, c := range report.Cards(a.Assessment, p.Words) {
		forms["cards"] += c.Summary + "\n" + strings.Join(c.Detail, "\n") + "\n"
	}
	for place, text := range readable(t, fhirjson.Encode(a.Resource())) {
		forms["Bundle, "+place] = text
	}
	return forms
}

// readable is what people read of a Bundle, by the name of the element: texts, and not
// displays, which are those of the code systems.
func readable(t *testing.T, bundle []byte) map[string]string {
	t.Helper()
	var decoded struct {
		Entry []struct{ Resource map[string]any }
	}
	if err := json.Unmarshal(bundle, &decoded); err != nil {
		t.Fatal(err)
	}
	found := map[string]string{}
	for _, e := range decoded.Entry {
		if e.Resource["resourceType"] != "OperationOutcome" { // its diagnostics are for whoever mends the input
			collect(e.Resource, e.Resource["resourceType"].(string), found)
		}
	}
	return found
}

var (
	texts = []string{"text", "div", "conclusion", "description", "title", "detail", "unit", "patientInstruction"}
	tags  = regexp.MustCompile(`<[^>]*>`)
)

func collect(element any, place string, found map[string]string) {
	switch e := element.(type) {
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(e)) {
			if text, ok := e[name].(string); ok && slices.Contains(texts, name) {
				found[place+"."+name] += tags.ReplaceAllString(text, " ") + "\n"
			}
			collect(e[name], place+"."+name, found)
		}
	case []any:
		for i := range e {
			collect(e[i], place, found)
		}
	}
}
