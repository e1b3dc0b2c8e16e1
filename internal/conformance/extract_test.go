//go:build conformance

package conformance

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/questionnaire"
)

// An extraction engine of others makes the same Observations of the published Questionnaire as we do.
func TestExtractionByTemplates(t *testing.T) {
	const response = "../../testdata/questionnaire/response.json"
	var published string
	for i, d := range definitions() {
		if strings.HasPrefix(d.name, "Questionnaire-") {
			published = written(t, definitions())[i]
		}
	}
	text, err := os.ReadFile(response)
	if err != nil {
		t.Fatal(err)
	}
	resource, err := fhirjson.Decode(text, fhir.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	reading, err := questionnaire.Extract(resource.(*fhir.QuestionnaireResponse), protocol.Default(), "QuestionnaireResponse")
	if err != nil {
		t.Fatal(err)
	}
	var want, got []string
	for _, e := range reading.Observations {
		want = append(want, essence(t, fhirjson.Encode(e.Observation)))
	}
	for _, line := range node(t, "extract.mjs", published, response) {
		got = append(got, essence(t, []byte(line)))
	}
	slices.Sort(want)
	slices.Sort(got)
	if !slices.Equal(got, want) {
		t.Errorf("others make of it\n%s\nwe make\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// essence is what an Observation measures: code, side, time, of whom, value and components.
func essence(t *testing.T, text []byte) string {
	t.Helper()
	type concept struct {
		Coding []struct{ System, Code string }
	}
	type quantity struct {
		Value  json.Number
		System string
		Code   string
	}
	var o struct {
		Status            string
		Code, BodySite    concept
		Method            concept
		EffectiveDateTime string
		Subject           struct{ Reference string }
		ValueQuantity     quantity
		Component         []struct {
			Code                 concept
			ValueCodeableConcept concept
			ValueQuantity        quantity
		}
	}
	if err := json.Unmarshal(text, &o); err != nil {
		t.Fatalf("%v: %.300s", err, text)
	}
	var components []string
	for _, c := range o.Component {
		components = append(components, fmt.Sprint(c.Code, c.ValueCodeableConcept, c.ValueQuantity))
	}
	slices.Sort(components)
	return fmt.Sprint(o.Status, o.Code, o.BodySite, o.Method, o.EffectiveDateTime, o.Subject, o.ValueQuantity, components)
}
