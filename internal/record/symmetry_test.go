package record

import (
	"slices"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func TestSymmetryIndex(t *testing.T) {
	tests := []struct {
		name           string
		newtons        string // of the involved side; the other pulls 100
		value          string
		interpretation string
		source         string
	}{
		{"weaker", "80", "80.0 %", "L", "by hand: 80 / 100"},
		{"even on the threshold", "90", "90.0 %", "N", "by hand; the threshold is inclusive"},
		{"just under even is not printed as even", "89.96", "89.96 %", "L", "design section 4: a printed value never rounds across its threshold"},
		{"just under good enough is not printed as good enough", "74.96", "74.96 %", "L", "as above"},
		{"stronger is not clamped", "120", "120.0 %", "N", "by hand: 120 / 100"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			found := results(onePosition(tt.newtons).answer(t, Transaction), fhir.CodeLimbSymmetryIndex)
			if len(found) != 1 {
				t.Fatalf("%d indices, want 1: one position was tested", len(found))
			}
			o := found[0]
			if got := valueOf(o.Value); got != tt.value {
				t.Errorf("value %s, want %s (%s)", got, tt.value, tt.source)
			}
			if got := codesOf(o.Interpretation); !slices.Equal(got, []string{tt.interpretation}) {
				t.Errorf("interpretation %v, want %s (%s)", got, tt.interpretation, tt.source)
			}
			for i, want := range []struct{ rule, low string }{{"even", "90 %"}, {"good-enough", "75 %"}} {
				if r := o.ReferenceRange[i]; valueOf(r.Low) != want.low || !hasCode(r.Kind, want.rule) {
					t.Errorf("reference range %d %+v, want from %s by the rule %s (default protocol)", i, r, want.low, want.rule)
				}
			}
		})
	}
}

func TestSymmetryIndexSaysHowItWasMade(t *testing.T) {
	s := onePosition("80")
	s.observation(standard(fhir.SystemLOINC, fhir.LOINCBodyWeight, ""), firstVisit, "", quantity("80", "kg"))
	o := results(s.answer(t, Transaction), fhir.CodeLimbSymmetryIndex)[0]
	if o.Status != "preliminary" {
		t.Errorf("status %s, want preliminary: nobody has reviewed it (R4 observation-status)", o.Status)
	}
	if o.Category[0].Coding[0].Code != "exam" || o.BodySite.Coding[0].Code != fhir.SNOMEDRightShoulder {
		t.Errorf("category %v, body site %v; want exam of the right shoulder", o.Category, o.BodySite)
	}
	if got := valueOf(o.Effective); got != firstVisit {
		t.Errorf("effective %s, want the session's time in its own offset, %s", got, firstVisit)
	}
	if got := valueOf(o.Method); got != "handheld-dynamometry" {
		t.Errorf("method %s, want handheld-dynamometry", got)
	}
	if len(o.DerivedFrom) != 4 || o.DerivedFrom[0].Reference != "Observation/o1" {
		t.Errorf("derivedFrom %v, want the four trials, as the patient is referred to: relatively", o.DerivedFrom)
	}
	tests := []struct{ component, want, source string }{
		{"rotation", fhir.SNOMEDExternalRotation, "terminology section 2.3"},
		{"arm-position", "arm-at-side", "the trials"},
		{"arm-support", "supported", "the trials"},
		{"contraction-type", "make", "the trials"},
		{"interval-low", "62.3 %", "Fieller by hand for two trials: g = (1.644854 x 0.106066)^2, 80 x 0.755157 / 0.969563"},
		{"interval-high", "102.7 %", "Fieller by hand: 80 x 1.244843 / 0.969563"},
		{"probability-at-threshold", "21.7 %", "by hand: Phi((80 - 90) / (1.06066 sqrt(8^2 + 9^2))) = Phi(-0.7830)"},
		{"probability-good-enough", "66.6 %", "by hand: Phi((80 - 75) / (1.06066 sqrt(8^2 + 7.5^2))) = Phi(0.4299)"},
		{"involved-strength", "80.0 N", "the trials"},
		{"comparison-strength", "100.0 N", "the trials"},
		{"involved-strength-by-mass", "1.00 N/kg", "by hand: 80 / 80"},
		{"comparison-strength-by-mass", "1.25 N/kg", "by hand: 100 / 80"},
		{"involved-standard-error", "10.6 %", "clinical reference, middle of SEM 7-14 %, for two trials: 10 x sqrt(0.75 + 0.25 x 3 / 2)"},
	}
	for _, tt := range tests {
		if got := componentValue(o, tt.component); got != tt.want {
			t.Errorf("%s = %q, want %s (%s)", tt.component, got, tt.want, tt.source)
		}
	}
}

// Without bounds there are no numbers to print.
func TestUnboundedIntervalHasNoNumbers(t *testing.T) {
	wide := loaded(t, `{"id": "wide", "error": {"usual": {"value": 40, "unit": "%", "source": "test"}, "unstabilised": {"value": 40, "unit": "%", "source": "test"}, "interval": {"value": 99, "unit": "%", "source": "test"}}}`)
	a, reading := onePosition("80").assessed(t, wide)
	o := results(Build(a, reading, Options{}), fhir.CodeLimbSymmetryIndex)[0]
	for component, want := range map[string]string{"interval-low": "negative-infinity", "interval-high": "positive-infinity"} {
		c := componentOf(o, component)
		if c.Value != nil || c.DataAbsentReason == nil || c.DataAbsentReason.Coding[0].Code != want {
			t.Errorf("%s: %+v, want no value but %s (g = (2.576 x 0.4)^2 > 1: design section 4)", component, c, want)
		}
	}
}

func TestCarriedForwardIsSaid(t *testing.T) {
	s := onePosition("80")
	s.strength(secondVisit, shoulder.External, shoulder.AtSide, "right", "85", "85")
	o := results(s.answer(t, Transaction), fhir.CodeLimbSymmetryIndex)[0]
	if got := valueOf(o.Value); got != "85.0 %" || len(o.Note) == 0 {
		t.Errorf("index %s with notes %v; want 85.0 %% with a note that the comparison side is carried forward", got, o.Note)
	}
	if len(o.DerivedFrom) != 6 || !refersTo(o.DerivedFrom[:4], "Observation/o3") {
		t.Errorf("derivedFrom %v, want the two new trials and the other side's of three weeks before, and then what it changed from", o.DerivedFrom)
	}
}

func TestSymmetryIndexAgainstPrevious(t *testing.T) {
	tests := []struct {
		name, first, second string
		interpretation      []string
		direction           string
		source              string
	}{
		{"better", "40", "80", []string{"L", "B"}, "B", "by hand: 40 over 1.96 x 60 x 0.2 = 23.5"},
		{"worse", "80", "40", []string{"L", "W"}, "W", "by hand: as above"},
		{"within error", "70", "80", []string{"L"}, "E", "by hand: 10 under 1.96 x 75 x 0.2 = 29.4"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := onePosition(tt.first)
			s.both(secondVisit, shoulder.External, shoulder.AtSide, tt.second)
			o := results(s.answer(t, Transaction), fhir.CodeLimbSymmetryIndex)[0]
			if got := codesOf(o.Interpretation); !slices.Equal(got, tt.interpretation) {
				t.Errorf("interpretation %v, want %v (%s)", got, tt.interpretation, tt.source)
			}
			if c := componentOf(o, "change-since-previous"); !hasCode(&c.Interpretation[0], tt.direction) {
				t.Errorf("change %+v, want %s (%s)", c, tt.direction, tt.source)
			}
			if componentOf(o, "change-since-baseline") != nil {
				t.Error("a change since the first session, want none: it is the previous one")
			}
		})
	}
}
