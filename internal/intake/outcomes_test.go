package intake

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

const clinic = "https://clinic.example/codes"

// measureIn is an invented outcome measure of 0 to 100 in a unit.
func measureIn(unit, code string) protocol.OutcomeMeasure {
	return protocol.OutcomeMeasure{
		ID: code, Codes: []protocol.Code{{System: clinic, Code: code}}, Scale: protocol.Scale{Unit: unit, Minimum: exact.Int(0), Maximum: exact.Int(100)},
	}
}

// A value of an outcome measure is in its unit; a plain number will do where the unit is only an annotation.
//
// Source: UCUM, section 6: annotations in braces have no meaning.
func TestValuesOfOutcomeMeasures(t *testing.T) {
	in := []protocol.OutcomeMeasure{measureIn("{points}", "comfort"), measureIn("s", "hold")}
	const element = " Bundle.entry[1].resource."
	tests := []struct {
		name, code string
		value      fhir.Value
		want       string // empty if it is not used
		issue      string
	}{
		{"points", "comfort", ucum("62", "{points}"), "62", ""},
		{"points by an integer", "comfort", fhir.Integer(62), "62", ""},
		{"points in another annotation", "comfort", ucum("62", "{score}"), "62", ""},
		{"points by unit alone", "comfort", &fhir.Quantity{Value: "62", Unit: "{points}"}, "62", ""},
		{"the lowest", "comfort", fhir.Integer(0), "0", ""},
		{"the highest", "comfort", fhir.Integer(100), "100", ""},
		{"too low", "comfort", fhir.Integer(-1), "", "warning value-range" + element + "valueInteger"},
		{"too high", "comfort", ucum("100.1", "{points}"), "", "warning value-range" + element + "valueQuantity.value"},
		{"seconds", "hold", ucum("62", "s"), "62", ""},
		{"seconds by unit alone", "hold", &fhir.Quantity{Value: "62", Unit: "s"}, "62", ""},
		{"minutes", "hold", ucum("1", "min"), "", "warning unit-unknown" + element + "valueQuantity.code"},
		{"seconds of another system", "hold", &fhir.Quantity{Value: "62", Unit: "s", Code: "s", System: "https://units.example"}, "", "warning unit-unknown" + element + "valueQuantity.code"},
		{"a number without a unit", "hold", fhir.Integer(62), "", "warning value-kind" + element + "valueInteger"},
		{"a Quantity that is not there", "hold", (*fhir.Quantity)(nil), "", "warning value-kind" + element + "valueQuantity"},
		{"more than a number", "hold", &fhir.Quantity{Value: "62", Comparator: ">", Unit: "s", System: fhir.SystemUCUM, Code: "s"}, "", "warning comparator" + element + "valueQuantity.comparator"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := readInput(t, Input{
				Bundle: bundle(strengthOf("s"), observation("o", coding(clinic, tt.code), tt.value)), Involved: shoulder.Right, Received: received, Outcomes: in,
			})
			if tt.issue != "" {
				wantIssues(t, r.Issues, tt.issue)
			} else {
				wantIssues(t, r.Issues)
			}
			found := r.Episode.Sessions[0].Outcomes
			if (len(found) == 1) != (tt.want != "") {
				t.Fatalf("%d values are used, want %q", len(found), tt.want)
			}
			if tt.want != "" {
				wantNumber(t, tt.code, found[0].Value, tt.want)
			}
		})
	}
}

// A code that means something already cannot be that of an outcome measure.
func TestCodesOfOutcomeMeasures(t *testing.T) {
	for system, want := range map[string]int{clinic: 0, fhir.SystemLOINC: 1, fhir.SystemShoulder: 1} {
		m := measureIn("{points}", "x")
		if m.Codes[0].System = system; system == fhir.SystemLOINC {
			m.Codes[0].Code = fhir.LOINCPainVerbalRating
		}
		if got := CheckOutcomes(&protocol.Protocol{OutcomeMeasures: []protocol.OutcomeMeasure{m}}); len(got) != want {
			t.Errorf("%s: %v, want %d problems", system, got, want)
		}
	}
}

// What a code is for, by the tables of codes.
func TestUsesOfCodes(t *testing.T) {
	var none *CodeMap
	for _, tt := range []struct {
		name string
		code fhir.Coding
		want Use
	}{
		{"strength", coding(fhir.SystemShoulder, fhir.CodeExternalRotationStrength), Measurement},
		{"pain", coding(fhir.SystemLOINC, fhir.LOINCPainVerbalRating), Measurement},
		{"position of the arm", coding(fhir.SystemShoulder, fhir.CodeArmPosition), Component},
		{"a component's code of another system", coding(clinic, fhir.CodeArmPosition), NotRead},
		{"unknown", coding(clinic, "x"), NotRead},
	} {
		if got := none.Use(tt.code); got != tt.want {
			t.Errorf("%s: %v, want %v", tt.name, got, tt.want)
		}
	}
	for name, of := range map[string]struct {
		codes []code
		want  Use
	}{"repairs": {keys(cuffRepairs), Repair}, "conditions": {keys(shoulderConditions), Disorder}, "repairs in history": {keys(historyOfRepair), Disorder}} {
		for _, c := range of.codes {
			if got := none.Use(coding(c.system, c.code)); got != of.want {
				t.Errorf("%s: %v is for %v, want %v", name, c, got, of.want)
			}
		}
	}
	confirmations := 0
	for c, m := range measures {
		want := Measurement
		if m.kind == confirmation {
			want = Confirmation
			confirmations++
		}
		if got := none.Use(coding(c.system, c.code)); got != want {
			t.Errorf("%v is for %v, want %v", c, got, want)
		}
	}
	if confirmations == 0 {
		t.Error("no code confirms anything, so that this test shows nothing of that")
	}
}

func keys[V any](table map[code]V) (all []code) {
	for c := range table {
		all = append(all, c)
	}
	return all
}
