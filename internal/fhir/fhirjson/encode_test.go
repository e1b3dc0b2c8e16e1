package fhirjson_test

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"github.com/google/go-cmp/cmp"
)

func TestEncode(t *testing.T) {
	tests := []struct {
		name   string
		r      fhir.Resource
		want   string
		source string
	}{
		{"resourceType first, zero fields absent", &fhir.Patient{Common: fhir.Common{ID: "a"}}, `{"resourceType":"Patient","id":"a"}`, jsonRules},
		{"nothing set", &fhir.Patient{}, `{"resourceType":"Patient"}`, jsonRules},
		{"no resource", nil, ``, "documented"},
		{"type that is not read", &fhir.Other{TypeName: "Medication", ID: "m"}, `{"resourceType":"Medication","id":"m"}`, "documented"},
		{"decimal as it stands", &fhir.Observation{Value: &fhir.Quantity{Value: "1.50e0"}}, `{"resourceType":"Observation","valueQuantity":{"value":1.50e0}}`, dataTypes + ", decimal"},
		{"false and 0 are values", &fhir.Parameters{Parameter: []fhir.Parameter{{Name: "a", Value: fhir.Boolean(false)}, {Name: "b", Value: fhir.Integer(0)}}},
			`{"resourceType":"Parameters","parameter":[{"name":"a","valueBoolean":false},{"name":"b","valueInteger":0}]}`, jsonRules},
		{"doNotPerform is absent when false", &fhir.CarePlan{Activity: []fhir.Activity{{Detail: &fhir.ActivityDetail{Status: "a"}}}},
			`{"resourceType":"CarePlan","activity":[{"detail":{"status":"a"}}]}`, "documented"},
		{"value that is not read is left out", &fhir.Observation{Status: "final", Value: fhir.OtherValue("Range")}, `{"resourceType":"Observation","status":"final"}`, "documented"},
		{"nothing empty", &fhir.Observation{
			Common: fhir.Common{Meta: &fhir.Meta{Profile: []string{""}}, Contained: []fhir.Resource{nil}}, Category: []fhir.CodeableConcept{{Coding: []fhir.Coding{{}}}, {}},
			Subject: &fhir.Reference{Identifier: &fhir.Identifier{}}, Value: (*fhir.Quantity)(nil),
		}, `{"resourceType":"Observation"}`, jsonRules},
		{"empty elements of an array", &fhir.Observation{Performer: []fhir.Reference{{}, {Display: "a"}, {}, {Display: "b"}, {}}},
			`{"resourceType":"Observation","performer":[{"display":"a"},{"display":"b"}]}`, jsonRules},
		{"binary data", &fhir.DiagnosticReport{PresentedForm: []fhir.Attachment{{Data: []byte{0xfb, 0xff, 0}}}},
			`{"resourceType":"DiagnosticReport","presentedForm":[{"data":"+/8A"}]}`, "RFC 4648 section 4, by hand"},
		{"Bundle within a Bundle", &fhir.Bundle{BundleType: "collection", Entry: []fhir.Entry{{Resource: &fhir.Bundle{BundleType: "batch"}}}},
			`{"resourceType":"Bundle","type":"collection","entry":[{"resource":{"resourceType":"Bundle","type":"batch"}}]}`, jsonRules},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := string(fhirjson.Encode(tt.r)); got != tt.want {
				t.Errorf("Encode = %s\nwant     %s (%s)", got, tt.want, tt.source)
			}
		})
	}
}

func TestEncodeStrings(t *testing.T) {
	tests := []struct{ name, text, want, source string }{
		{"quotation mark and backslash", `a"b\c`, `"a\"b\\c"`, rfc + " section 7"},
		{"white space", "a\tb\nc\rd", `"a\tb\nc\rd"`, rfc + " section 7"},
		{"control characters", "\x00\x1f\x7f", "\"\\u0000\\u001f\x7f\"", rfc + " section 7"},
		{"markup is not escaped", `<b>&</b>`, `"<b>&</b>"`, "narrative stays readable"},
		{"line separators need no escape", "\u2028\u2029", "\"\u2028\u2029\"", rfc + " section 7"},
		{"other scripts", "Schulter 肩 😀", `"Schulter 肩 😀"`, rfc + " section 7"},
		{"bytes that are no UTF-8", "a\xffb\xc3", `"a�b�"`, "documented"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := fhirjson.Encode(&fhir.CarePlan{Title: tt.text})
			want := `{"resourceType":"CarePlan","title":` + tt.want + `}`
			if string(got) != want {
				t.Errorf("Encode = %s, want %s (%s)", got, want, tt.source)
			}
			if !json.Valid(got) {
				t.Errorf("Encode = %s, which is no JSON", got)
			}
		})
	}
}

func TestAppendResourceAppends(t *testing.T) {
	got := string(fhirjson.AppendResource([]byte("["), &fhir.Patient{}))
	if want := `[{"resourceType":"Patient"}`; got != want {
		t.Errorf("AppendResource = %s, want %s", got, want)
	}
}

func TestEncodedTextsShareNoMemory(t *testing.T) {
	first := fhirjson.Encode(&fhir.Patient{BirthDate: "1971"})
	fhirjson.Encode(&fhir.Patient{BirthDate: "2004"})
	if want := `{"resourceType":"Patient","birthDate":"1971"}`; string(first) != want {
		t.Errorf("after another Encode the text is %s, want %s", first, want)
	}
}

func TestIndent(t *testing.T) {
	body := []byte(`{"resourceType":"Observation","valueQuantity":{"value":1.50e0,"unit":"<"},"category":[{"text":"a"}]}`)
	before := string(body)
	want := strings.Join([]string{
		`{`,
		`  "resourceType": "Observation",`,
		`  "valueQuantity": {`,
		`    "value": 1.50e0,`,
		`    "unit": "<"`,
		`  },`,
		`  "category": [`,
		`    {`,
		`      "text": "a"`,
		`    }`,
		`  ]`,
		`}`,
	}, "\n")
	if diff := cmp.Diff(want, string(fhirjson.Indent(body))); diff != "" {
		t.Errorf("Indent (-want +got)\n%s", diff)
	}
	if string(body) != before {
		t.Errorf("Indent changed its argument to %s", body)
	}
	if got := string(fhirjson.Indent([]byte("{x"))); got != "{x" {
		t.Errorf("Indent({x) = %s, want it unchanged", got)
	}
}

// TestEncodeWritesElementsOfR4InOrder reads what is written member by member
// against the table, which another test compares with google/fhir.
func TestEncodeWritesElementsOfR4InOrder(t *testing.T) {
	checked := map[string]bool{}
	for _, r := range jsonSamples() {
		if _, isRead := fhirjson.Elements[r.Type()]; isRead {
			checkOrder(t, r.Type(), fhirjson.Encode(r), checked)
		}
	}
	for typeName := range fhirjson.Elements {
		if !checked[typeName] {
			t.Errorf("no sample holds a %s", typeName)
		}
	}
}

// memberTypes gives the data type of the members by which the samples hold one.
var memberTypes = map[string]string{
	"meta": "Meta", "coding": "Coding", "identifier": "Identifier", "subject": "Reference", "who": "Reference", "what": "Reference",
	"bodySite": "CodeableConcept", "valueQuantity": "Quantity", "low": "Quantity", "period": "Period", "effectivePeriod": "Period",
	"note": "Annotation", "extension": "Extension", "presentedForm": "Attachment",
}

// checkOrder checks an object, or every object of an array.
func checkOrder(t *testing.T, typeName string, text []byte, checked map[string]bool) {
	t.Helper()
	var list []json.RawMessage
	if json.Unmarshal(text, &list) == nil {
		for _, element := range list {
			checkOrder(t, typeName, element, checked)
		}
		return
	}
	checked[typeName] = true
	var members map[string]json.RawMessage
	if err := json.Unmarshal(text, &members); err != nil {
		t.Fatal(err)
	}
	last := -1
	for _, name := range memberNames(t, text) {
		if name == "resourceType" {
			continue
		}
		position := slices.IndexFunc(fhirjson.Elements[typeName], func(e string) bool { return strings.TrimPrefix(e, "_") == name })
		if position <= last {
			t.Errorf("%s.%s stands at %d of R4's order after %d, or not at all", typeName, name, position, last)
		}
		last = position
		if child := typeName + "." + name; fhirjson.Elements[child] != nil {
			checkOrder(t, child, members[name], checked)
		} else if dataType := memberTypes[name]; dataType != "" {
			checkOrder(t, dataType, members[name], checked)
		} else if child == "Patient.name" {
			checkOrder(t, "HumanName", members[name], checked)
		} else if name == "text" && members[name][0] == '{' {
			checkOrder(t, "Narrative", members[name], checked)
		}
	}
}

// memberNames lists the names of an object in the order of the text.
func memberNames(t *testing.T, object []byte) (names []string) {
	t.Helper()
	tokens := json.NewDecoder(bytes.NewReader(object))
	if _, err := tokens.Token(); err != nil {
		t.Fatal(err)
	}
	for tokens.More() {
		name, err := tokens.Token()
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, name.(string))
		var skipped json.RawMessage
		if err := tokens.Decode(&skipped); err != nil {
			t.Fatal(err)
		}
	}
	return names
}
