package fhirjson_test

import (
	"strings"
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"github.com/google/go-cmp/cmp"
)

// TestDecodePrimitives tries every primitive within and outside its domain.
func TestDecodePrimitives(t *testing.T) {
	long := strings.Repeat("a", 64)
	tests := []struct {
		primitive string
		member    func(json string) string // a member that holds the primitive
		path      string
		good, bad []string
		source    string
	}{
		{"id", member(`"id":`), "Observation.id",
			[]string{`"a"`, `"A-1.b"`, `"` + long + `"`},
			[]string{`"a b"`, `"a_b"`, `"` + long + `a"`, `"ä"`}, dataTypes + ", id"},
		{"code", member(`"status":`), "Observation.status",
			[]string{`"final"`, `"a b"`, `"ä"`},
			[]string{`" a"`, `"a "`, `"a  b"`, `" "`, `"a\tb"`, `"a\n"`}, dataTypes + ", code; a tab between words is refused beyond R4"},
		{"uri", member(`"implicitRules":`), "Observation.implicitRules",
			[]string{`"urn:uuid:53fefa32-fcbb-4ff8-8a92-55ee120877b7"`, `"http://a.example/b|1.0"`},
			[]string{`"a b"`, `" "`, `"a\nb"`}, dataTypes + ", uri"},
		{"string", member(`"valueString":`), "Observation.valueString",
			[]string{`"a"`, `" "`, `"a\tb\r\nc"`, `"<b>&"`, `"\u2028"`, `"\ud83d\ude00"`, `"\\\"\/"`},
			[]string{`"a\u0000"`, `"\b"`, `"\u001f"`}, dataTypes + ", string"},
		{"date", extension(`"valueDate":`), "Observation.extension[0].valueDate",
			[]string{`"2026"`, `"2026-02"`, `"2026-02-28"`, `"2024-02-29"`, `"2000-02-29"`, `"0001-01-01"`, `"9999-12-31"`},
			[]string{`"2026-02-30"`, `"2026-02-29"`, `"1900-02-29"`, `"2026-04-31"`, `"2026-13"`, `"2026-00"`, `"2026-01-00"`, `"2026-1"`, `"26"`, `"0000"`,
				`"2026-01-01T00:00:00Z"`, `"2026-"`, `"2026-01-"`, `"2026/01/01"`, `"20260101"`, `"-2026"`, `"2026 "`}, dataTypes + ", date"},
		{"dateTime", member(`"effectiveDateTime":`), "Observation.effectiveDateTime",
			[]string{`"2026"`, `"2026-02"`, `"2026-02-28"`, `"2026-02-28T23:59:59Z"`, `"2026-02-28T23:59:60Z"`, `"2026-02-28T00:00:00.123456789+14:00"`,
				`"2026-02-28T00:00:00-13:59"`, `"2026-02-28T00:00:00-00:00"`},
			[]string{`"2026-02-30T00:00:00Z"`, `"2026-02-28T24:00:00Z"`, `"2026-02-28T00:60:00Z"`, `"2026-02-28T00:00:61Z"`, `"2026-02-28T00:00:00"`,
				`"2026-02-28T00:00Z"`, `"2026-02-28T00:00:00.Z"`, `"2026-02-28T00:00:00+14:01"`, `"2026-02-28T00:00:00+15:00"`, `"2026-02-28T00:00:00+1:00"`,
				`"2026-02-28T00:00:00+01"`, `"2026-02T00:00:00Z"`, `"2026T00:00:00Z"`, `"2026-02-28 00:00:00Z"`, `"2026-02-28T00:00:00z"`, `"2026-02-28T00:00:00Zz"`,
				`"today"`}, dataTypes + ", dateTime"},
		{"instant", member(`"issued":`), "Observation.issued",
			[]string{`"2026-02-28T23:59:59Z"`, `"2026-02-28T23:59:59.001+01:00"`},
			[]string{`"2026"`, `"2026-02-28"`, `"2026-02-28T23:59Z"`, `"2026-02-28T23:59:59"`}, dataTypes + ", instant"},
		{"boolean", member(`"valueBoolean":`), "Observation.valueBoolean",
			[]string{`true`, `false`}, nil, dataTypes + ", boolean"},
		{"integer", member(`"valueInteger":`), "Observation.valueInteger",
			[]string{`0`, `-0`, `2147483647`, `-2147483648`},
			[]string{`2147483648`, `-2147483649`, `1.0`, `1.5`, `1e2`, `1E2`}, dataTypes + ", integer"},
		{"decimal", member(`"valueQuantity":{"value":`), "Observation.valueQuantity.value",
			[]string{`0`, `-0`, `-0.0`, `1.50`, `1.0e2`, `1E+2`, `0.000`, `1e40`, `1e-40`, strings.Repeat("9", 40), "0." + strings.Repeat("0", 39) + "1"},
			[]string{`1e999999`, `1e41`, `1e-41`, `1.5e-40`, `1e99999999999999999999`, strings.Repeat("9", 41), "0." + strings.Repeat("0", 40) + "1", "0." + strings.Repeat("1", 41)},
			"bound of internal/exact; the form is JSON's"},
		{"base64Binary", attachment, "DiagnosticReport.presentedForm[0].data",
			[]string{`"AA=="`, `"AAAA"`, `"AA A\nA"`},
			[]string{`"A"`, `"AA"`, `"A-_="`, `"AA==AA=="`}, dataTypes + ", base64Binary"},
		{"xhtml", narrative, "Observation.text.div",
			[]string{`"<div xmlns=\"http://www.w3.org/1999/xhtml\">a</div>"`, `"<div/>"`},
			[]string{`"a"`, `"<p>a</p>"`, `"<div>a"`}, "FHIR R4, narrative"},
	}
	for _, tt := range tests {
		t.Run(tt.primitive, func(t *testing.T) {
			for _, json := range tt.good {
				if _, err := fhirjson.Decode([]byte(tt.member(json)), fhir.Limits{}); err != nil {
					t.Errorf("%s %s: %v, want no error (%s)", tt.primitive, json, err, tt.source)
				}
			}
			for _, json := range tt.bad {
				want := []found{{fault.BadValue, tt.path}}
				issues := refused(t, tt.member(json), fhir.Limits{})
				if diff := cmp.Diff(want, summary(issues), cmp.AllowUnexported(found{})); diff != "" {
					t.Errorf("%s %s (-want +got, %s)\n%s", tt.primitive, json, tt.source, diff)
				}
			}
		})
	}
}

// member returns a function that writes an Observation whose first elements
// are the given ones, with a value.
func member(before string) func(string) string {
	return func(json string) string {
		status := `"status":"final",`
		if strings.HasPrefix(before, `"status"`) {
			status = ""
		}
		after := strings.Repeat("}", strings.Count(before, "{"))
		return `{"resourceType":"Observation",` + status + `"code":{"text":"a"},` + before + json + after + `}`
	}
}

func extension(value string) func(string) string {
	return func(json string) string { return observation(`"extension":[{"url":"urn:a",` + value + json + `}]`) }
}

func attachment(json string) string {
	return `{"resourceType":"DiagnosticReport","status":"final","code":{"text":"a"},"presentedForm":[{"data":` + json + `}]}`
}

func narrative(json string) string {
	return observation(`"text":{"status":"generated","div":` + json + `}`)
}

// TestDecodedDecimalsAreExactNumbers keeps the bounds of the two packages equal.
func TestDecodedDecimalsAreExactNumbers(t *testing.T) {
	for _, text := range []string{
		"0", "-12.50", "1e40", "1e41", "12e39", "1.2e40", "1e-40", "0.1e-40", "1e-41", "0.1e41", "1E5", "1e81", "1e999999",
		strings.Repeat("9", 40), strings.Repeat("9", 41), "0." + strings.Repeat("9", 40), "0." + strings.Repeat("0", 39) + "1",
		"1" + strings.Repeat("0", 40), "0.0", "0e40", "0e41", "0e-40", "0." + strings.Repeat("0", 41), "-0." + strings.Repeat("9", 40),
	} {
		_, err := fhirjson.Decode([]byte(observation(`"valueQuantity":{"value":`+text+`}`)), fhir.Limits{})
		_, exactErr := exact.Parse(text)
		if (err == nil) != (exactErr == nil) {
			t.Errorf("%s: Decode says %v, exact.Parse says %v; want the same", text, err, exactErr)
		}
	}
}

func TestDecodeChoices(t *testing.T) {
	tests := []struct {
		json string
		want fhir.Value
	}{
		{`"valueQuantity":{"value":1.50,"comparator":"<","unit":"N","system":"http://unitsofmeasure.org","code":"N"}`,
			&fhir.Quantity{Value: "1.50", Comparator: "<", Unit: "N", System: "http://unitsofmeasure.org", Code: "N"}},
		{`"valueCodeableConcept":{"coding":[{"system":"urn:a","version":"1","code":"b","display":"c"}],"text":"d"}`,
			&fhir.CodeableConcept{Coding: []fhir.Coding{{System: "urn:a", Version: "1", Code: "b", Display: "c"}}, Text: "d"}},
		{`"valueCoding":{"code":"b"}`, &fhir.Coding{Code: "b"}},
		{`"valueReference":{"reference":"a/b","type":"Patient","identifier":{"system":"urn:a","value":"1"},"display":"c"}`,
			&fhir.Reference{Reference: "a/b", TypeName: "Patient", Identifier: &fhir.Identifier{System: "urn:a", Value: "1"}, Display: "c"}},
		{`"valuePeriod":{"start":"2026","end":"2027"}`, &fhir.Period{Start: "2026", End: "2027"}},
		{`"valueString":"a b"`, fhir.String("a b")},
		{`"valueCode":"a"`, fhir.Code("a")},
		{`"valueUri":"urn:a"`, fhir.URI("urn:a")},
		{`"valueCanonical":"urn:a|1"`, fhir.Canonical("urn:a|1")},
		{`"valueDateTime":"2026"`, fhir.DateTime("2026")},
		{`"valueDate":"2026"`, fhir.Date("2026")},
		{`"valueInstant":"2026-01-01T00:00:00Z"`, fhir.Instant("2026-01-01T00:00:00Z")},
		{`"valueInteger":-7`, fhir.Integer(-7)},
		{`"valueBoolean":false`, fhir.Boolean(false)},
		{`"valueSampledData":{"period":1}`, fhir.OtherValue("SampledData")},
		{`"valueTime":"12:00:00"`, fhir.OtherValue("Time")},
		{`"valueDecimal":1.5`, fhir.OtherValue("Decimal")},
		{`"valueMarkdown":"a"`, fhir.OtherValue("Markdown")},
	}
	for _, tt := range tests {
		t.Run(tt.json, func(t *testing.T) {
			r, err := fhirjson.Decode([]byte(observation(`"extension":[{"url":"urn:a",`+tt.json+`}]`)), fhir.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			got := r.(*fhir.Observation).Extension[0].Value
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("(-want +got, %s)\n%s", dataTypes, diff)
			}
		})
	}
}
