package fhirjson_test

import (
	"os"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"github.com/google/go-cmp/cmp"
)

// TestDecodeRealisticResources reads resources as records write them: elements
// that the model leaves out, extensions of primitives, holes in arrays, any
// order. What is expected was written by hand from the files.
func TestDecodeRealisticResources(t *testing.T) {
	const shoulder = "https://evenreach.example/fhir/CodeSystem/shoulder"
	tests := []struct {
		file string
		want fhir.Resource
	}{
		{"observation.json", &fhir.Observation{
			Common: fhir.Common{
				ID: "invented-strength",
				Meta: &fhir.Meta{
					VersionID: "3", LastUpdated: "2026-10-05T09:45:12.345+02:00",
					Profile: []string{"https://evenreach.example/fhir/StructureDefinition/isometric-strength"},
				},
				Language:  "en",
				Text:      &fhir.Narrative{Status: "generated", Div: `<div xmlns="http://www.w3.org/1999/xhtml">External rotation, right: 21.50 lbf</div>`},
				Contained: []fhir.Resource{&fhir.Other{TypeName: "Practitioner", ID: "pt"}, &fhir.Device{Common: fhir.Common{ID: "gauge"}, Kind: &fhir.CodeableConcept{Text: "handheld dynamometer"}}},
			},
			Status:    "final",
			Category:  []fhir.CodeableConcept{{Coding: []fhir.Coding{{System: "http://terminology.hl7.org/CodeSystem/observation-category", Code: "therapy"}}}},
			Code:      fhir.CodeableConcept{Coding: []fhir.Coding{{System: shoulder, Code: "isometric-external-rotation-strength"}}},
			Subject:   &fhir.Reference{Reference: "Patient/invented", TypeName: "Patient"},
			Focus:     []fhir.Reference{{Display: "the right shoulder"}},
			Effective: fhir.DateTime("2026-10-05T09:30:00+02:00"),
			Performer: []fhir.Reference{{Reference: "#pt"}},
			Value:     &fhir.Quantity{Value: "21.50", Unit: "lbf", System: "http://unitsofmeasure.org", Code: "[lbf_av]"},
			Note:      []fhir.Annotation{{Author: fhir.String("invented"), Time: "2026-10-05", Text: "Seated, make test — no pain."}},
			BodySite: &fhir.CodeableConcept{
				Coding: []fhir.Coding{{System: "http://snomed.info/sct", Code: "16982005", Display: "Shoulder region structure"}},
				Extension: []fhir.Extension{{
					URL:   "http://hl7.org/fhir/us/mcode/StructureDefinition/mcode-laterality-qualifier",
					Value: &fhir.CodeableConcept{Coding: []fhir.Coding{{System: "http://snomed.info/sct", Code: "24028007"}}},
				}},
			},
			Device: &fhir.Reference{Reference: "#gauge"},
			Component: []fhir.Component{
				{
					Code:  fhir.CodeableConcept{Coding: []fhir.Coding{{System: shoulder, Code: "arm-position"}}},
					Value: &fhir.CodeableConcept{Coding: []fhir.Coding{{System: shoulder, Code: "abduction-90"}}},
				},
				{Code: fhir.CodeableConcept{Text: "force curve"}, Value: fhir.OtherValue("SampledData")},
			},
		}},
		{"searchset.json", &fhir.Bundle{
			BundleType: "searchset", Total: 3,
			Link: []fhir.Link{{Relation: "self", URL: "https://record.example/fhir/Observation?patient=invented"}},
			Entry: []fhir.Entry{
				{
					FullURL: "https://record.example/fhir/Patient/invented",
					Resource: &fhir.Patient{
						Common:    fhir.Common{ID: "invented", Identifier: []fhir.Identifier{{System: "https://record.example/patients", Value: "0001"}}},
						Name:      []fhir.HumanName{{Family: "Invented", Given: []string{"Example"}}},
						BirthDate: "1971-04-12",
					},
					Search: &fhir.Search{Mode: "include"},
				},
				{
					FullURL:  "https://record.example/fhir/MedicationStatement/1",
					Resource: &fhir.Other{TypeName: "MedicationStatement", ID: "1"},
					Search:   &fhir.Search{Mode: "match"},
				},
			},
		}},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			body, err := os.ReadFile("testdata/json/" + tt.file)
			if err != nil {
				t.Fatal(err)
			}
			got, err := fhirjson.Decode(body, fhir.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

func TestDecodeDoesNotKeepTheBody(t *testing.T) {
	body := []byte(observation(`"valueString":"before"`))
	r, err := fhirjson.Decode(body, fhir.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	clear(body)
	if got := r.(*fhir.Observation).Value; got != fhir.String("before") {
		t.Errorf("value %q after the body was overwritten, want %q", got, "before")
	}
}

// TestOnlyDiagnosticsQuoteTheInput refuses bodies whose values, and whose names
// that are free text, all hold the canary.
func TestOnlyDiagnosticsQuoteTheInput(t *testing.T) {
	const canary = "John Canary"
	long := strings.Repeat("é", 200)
	tests := []string{
		canary,
		`{"resourceType":"` + canary + `"}`,
		`{"` + canary + `":1}`,
		`{"resourceType":"Patient","` + canary + `":1,"` + canary + `":2}`,
		`{"resourceType":"Patient","name":[{"` + canary + `":{},"` + canary + `":2}]}`,
		`{"resourceType":"Patient","name":[{"text":"` + canary + `","text":"` + canary + `"}]}`,
		`{"resourceType":"Patient","name":[{"text":"` + canary + "\xff" + `"}]}`,
		`{"resourceType":"Patient","` + canary + `":[}`,
		observation(`"id":"` + canary + `","issued":"` + canary + `","implicitRules":"` + canary + `","valueString":"` + canary + `\u0000"`),
		observation(`"text":{"status":"  ","div":"` + canary + `"},"subject":"` + canary + `","valueQuantity":{"value":"` + canary + `"}`),
		observation(`"_status":"` + canary + `","category":[{"coding":[{"` + canary + `":"` + canary + `"}]}]`),
		`{"resourceType":"Patient","birthDate":"` + canary + long + `"}`,
		observation("") + canary,
	}
	quoted := 0
	for _, body := range tests {
		for _, i := range refused(t, body, fhir.Limits{}) {
			if strings.Contains(i.Path+i.Detail, "Canary") {
				t.Errorf("%s\nissue quotes the input outside its diagnostic: %+v", body, i)
			}
			if len(i.Diagnostic) > 120 {
				t.Errorf("%s\ndiagnostic of %d bytes, want the quotation cut to 80", body, len(i.Diagnostic))
			}
			if strings.Contains(i.Diagnostic, "Canary") {
				quoted++
			}
		}
		if err := (&fault.Errors{Issues: refused(t, body, fhir.Limits{})}).Error(); strings.Contains(err, "Canary") {
			t.Errorf("%s\nerror text quotes the input: %s", body, err)
		}
	}
	if quoted == 0 {
		t.Error("no diagnostic quotes the input, so nothing was tested")
	}
}
