package intake

import (
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// Each limit and its neighbours.
func TestDomains(t *testing.T) {
	strengthIn := func(unit string) func(fhir.Decimal) *fhir.Observation {
		return func(v fhir.Decimal) *fhir.Observation { return strengthOf("x", value(ucum(v, unit))) }
	}
	amount := func(c fhir.Coding, unit string) func(fhir.Decimal) *fhir.Observation {
		return func(v fhir.Decimal) *fhir.Observation { return observation("x", c, ucum(v, unit)) }
	}
	tests := []struct {
		name    string
		measure func(fhir.Decimal) *fhir.Observation
		in, out []fhir.Decimal
	}{
		{"force", strengthIn("N"), []fhir.Decimal{"0", "0.0", "12", "700"}, []fhir.Decimal{"-0.1"}},
		{"force in another unit", strengthIn("kN"), []fhir.Decimal{"0", "0.7"}, []fhir.Decimal{"-0.001"}},
		{"torque", strengthIn("N.m"), []fhir.Decimal{"0", "300"}, []fhir.Decimal{"-0.1"}},
		{"angle", func(v fhir.Decimal) *fhir.Observation { return flexionOf("x", value(ucum(v, "deg"))) },
			[]fhir.Decimal{"0", "220"}, []fhir.Decimal{"-1", "220.5"}},
		{"pain", func(v fhir.Decimal) *fhir.Observation { return painOf("x", ucum(v, "{score}")) },
			[]fhir.Decimal{"0", "4.5", "10"}, []fhir.Decimal{"-1", "11"}},
		{"body mass", amount(coding(fhir.SystemLOINC, fhir.LOINCBodyWeight), "kg"), []fhir.Decimal{"1", "400"}, []fhir.Decimal{"0.9", "401"}},
		{"body height", amount(coding(fhir.SystemLOINC, fhir.LOINCBodyHeight), "cm"), []fhir.Decimal{"30", "260"}, []fhir.Decimal{"29", "261", "1.75"}},
		{"lever", amount(coding(fhir.SystemShoulder, fhir.CodeLeverArmLength), "cm"), []fhir.Decimal{"5", "100"}, []fhir.Decimal{"4.9", "101"}},
		{"tear", amount(coding(fhir.SystemShoulder, fhir.CodeCuffTearSize), "mm"), []fhir.Decimal{"0", "150"}, []fhir.Decimal{"-1", "151"}},
		{"digits", strengthIn("N"), []fhir.Decimal{"1.2e2"}, []fhir.Decimal{"1e999999", "12345678901234567890123456789012345678901", "NaN"}},
	}
	for _, tt := range tests {
		for _, v := range tt.in {
			t.Run(tt.name+" "+string(v), func(t *testing.T) {
				r := read(t, painOf("good", fhir.Integer(1)), tt.measure(v))
				if r.Used != 2 {
					t.Errorf("dropped with %v, want it read", summary(r.Issues))
				}
			})
		}
		for _, v := range tt.out {
			t.Run(tt.name+" "+string(v), func(t *testing.T) {
				r := read(t, painOf("good", fhir.Integer(1)), tt.measure(v))
				wantIssues(t, r.Issues, "warning value-range Bundle.entry[1].resource.valueQuantity.value")
			})
		}
	}
}

// R4 lets a score be an integer or a Quantity; the meaning is the same.
func TestPainIsTheSameInEitherType(t *testing.T) {
	for _, v := range []fhir.Value{fhir.Integer(4), ucum("4", "{score}"), ucum("4.0", "1")} {
		r := read(t, painOf("p", v, with(fhir.CodePainContext, ownConcept("during-resisted-test"))))
		p := r.Episode.Sessions[0].Pains[0]
		wantNumber(t, "score", p.Score, "4")
		if p.Context != shoulder.PainDuringResistedTest {
			t.Errorf("context = %v, want during-resisted-test", p.Context)
		}
	}
}

func TestGrades(t *testing.T) {
	rangeIssue := func(element string) string { return "warning value-range Bundle.entry[1].resource." + element }
	tests := []struct {
		name  string
		value fhir.Value
		want  shoulder.MuscleGrade
		issue string
	}{
		{"integer", fhir.Integer(4), shoulder.Grade4, ""},
		{"score", ucum("3", "{score}"), shoulder.Grade3, ""},
		{"score with a zero after the point", ucum("5.0", "{score}"), shoulder.Grade5, ""},
		{"no unit", &fhir.Quantity{Value: "0"}, shoulder.Grade0, ""},
		{"minus", fhir.String("4-"), shoulder.Grade4Minus, ""},
		{"plus", fhir.String(" 3+ "), shoulder.Grade3Plus, ""},
		{"out of five", fhir.String("4+/5"), shoulder.Grade4Plus, ""},
		{"coded", ownConcept("4-"), shoulder.Grade4Minus, ""},
		{"concept with a text only", &fhir.CodeableConcept{Text: "4+"}, shoulder.Grade4Plus, ""},
		{"six", fhir.Integer(6), 0, rangeIssue("valueInteger")},
		{"half", ucum("4.5", "{score}"), 0, rangeIssue("valueQuantity")},
		{"more digits than any number may have", ucum("1e40", "{score}"), 0, rangeIssue("valueQuantity")},
		{"a hair below such", ucum(fhir.Decimal(strings.Repeat("9", 39)+".9"), "{score}"), 0, rangeIssue("valueQuantity")},
		{"1 has no plus", fhir.String("1+"), 0, rangeIssue("valueString")},
		{"words", fhir.String("good"), 0, rangeIssue("valueString")},
		{"code of another system", concept(coding("urn:site", "4")), 0, rangeIssue("valueCodeableConcept")},
		{"nil concept", (*fhir.CodeableConcept)(nil), 0, rangeIssue("valueCodeableConcept")},
		{"boolean", fhir.Boolean(true), 0, "warning value-kind Bundle.entry[1].resource.valueBoolean"},
		{"force", ucum("4", "N"), 0, "warning unit-unknown Bundle.entry[1].resource.valueQuantity.code"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, painOf("good", fhir.Integer(1)), observation("g", coding(fhir.SystemShoulder, fhir.CodeExternalRotationGrade), tt.value,
				onSide(fhir.SNOMEDRightShoulder), with(fhir.CodeArmPosition, ownConcept("arm-at-side"))))
			if tt.issue != "" {
				wantIssues(t, r.Issues, tt.issue)
				return
			}
			wantIssues(t, r.Issues)
			if got := r.Episode.Sessions[0].Grades[0].Value; got != tt.want {
				t.Errorf("grade = %v, want %v", got, tt.want)
			}
		})
	}
}

func TestHandedness(t *testing.T) {
	tests := []struct {
		code string
		want shoulder.Handedness
	}{
		{fhir.SNOMEDRightHanded, shoulder.RightHanded},
		{fhir.SNOMEDRight, shoulder.RightHanded},
		{fhir.SNOMEDLeftHanded, shoulder.LeftHanded},
		{fhir.SNOMEDLeft, shoulder.LeftHanded},
		{fhir.SNOMEDAmbidextrous, shoulder.Ambidextrous},
	}
	for _, tt := range tests {
		hand := observation("h", coding(fhir.SystemSNOMED, fhir.SNOMEDHandedness), snomedConcept(tt.code),
			func(o *fhir.Observation) { o.Effective = nil })
		r := read(t, strengthOf("s"), hand)
		wantIssues(t, r.Issues) // it needs no date
		if r.Episode.Handedness != tt.want {
			t.Errorf("%s = %v, want %v", tt.code, r.Episode.Handedness, tt.want)
		}
	}
}
