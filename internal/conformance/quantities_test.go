package conformance

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// unitTexts are the texts that may stand beside a UCUM code. The validators
// check the code alone, and a reader sees the text alone.
//
// Source: UCUM 2.1, names and print symbols of its units; {score} and {ratio}
// are annotations, whose text is free.
var unitTexts = map[string][]string{
	"%":       {"%"},
	"%/wk":    {"%/wk", "% a week"},
	"N":       {"N"},
	"N.m":     {"N m"},
	"N/kg":    {"N/kg"},
	"N.m/kg":  {"N m/kg"},
	"deg":     {"degrees"},
	"wk":      {"weeks"},
	"d":       {"days"},
	"{score}": {"of 10"},
	"{ratio}": {"{ratio}", "ratio"},
}

// faultsOfQuantities are what the validators do not see in a quantity: a text
// that says another unit than the code; and a comparator where FHIR has a
// SimpleQuantity, which forbids it.
//
// Source: FHIR R4 4.0.1, SimpleQuantity, sqty-1; Range and referenceRange have
// SimpleQuantities.
func faultsOfQuantities(node any, path string) (faults []string) {
	switch v := node.(type) {
	case []any:
		for i, item := range v {
			faults = append(faults, faultsOfQuantities(item, fmt.Sprintf("%s[%d]", path, i))...)
		}
	case map[string]any:
		code, coded := v["code"].(string)
		if text, hasUnit := v["unit"].(string); coded && hasUnit && !slices.Contains(unitTexts[code], text) {
			faults = append(faults, fmt.Sprintf("%s: unit %q beside the code %q", path, text, code))
		}
		_, compares := v["comparator"]
		if simple := strings.HasSuffix(path, ".low") || strings.HasSuffix(path, ".high"); simple && compares {
			faults = append(faults, path+": a comparator in a SimpleQuantity")
		}
		for name, item := range v {
			faults = append(faults, faultsOfQuantities(item, path+"."+name)...)
		}
	}
	return faults
}

func TestQuantities(t *testing.T) {
	for _, d := range append(answers(t), published()...) {
		if strings.HasPrefix(d.name, "Bundle-example-request") {
			continue // a record writes its units as it likes
		}
		var parsed any
		if err := json.Unmarshal(d.body, &parsed); err != nil {
			t.Fatal(err)
		}
		for _, f := range faultsOfQuantities(parsed, d.name) {
			t.Error(f)
		}
	}
}

func TestFaultsOfQuantitiesAreFound(t *testing.T) {
	tests := []struct{ name, body string }{
		{"text of another unit", `{"valueQuantity":{"value":3,"unit":"kg","code":"N"}}`},
		{"unknown code", `{"valueQuantity":{"value":3,"unit":"N","code":"Nm"}}`},
		{"comparator in a reference range", `{"referenceRange":[{"low":{"value":90,"comparator":">="}}]}`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var parsed any
			if err := json.Unmarshal([]byte(tt.body), &parsed); err != nil {
				t.Fatal(err)
			}
			if len(faultsOfQuantities(parsed, "x")) != 1 {
				t.Errorf("%s: not found", tt.body)
			}
		})
	}
}
