package record

import (
	"slices"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func TestRangeFraction(t *testing.T) {
	tests := []struct {
		name, degrees, value, interpretation, source string
	}{
		{"on the threshold", "135", "75.0 %", "N", "common practice: 135 of 180 opens"},
		{"a little less", "134.9", "74.9 %", "L", "common practice: 134.9 does not"},
		{"less than the print shows", "134.99", "74.99 %", "L", "design section 4: never rounded across"},
		{"full", "180", "100.0 %", "N", "by hand"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := onePosition("80")
			s.elevation(firstVisit, tt.degrees)
			found := results(s.answer(t, Transaction), fhir.CodeRangeFraction)
			if len(found) != 2 {
				t.Fatalf("%d, want 2: flexion and abduction", len(found))
			}
			o := found[0]
			if got := valueOf(o.Value); got != tt.value || o.Interpretation[0].Coding[0].Code != tt.interpretation {
				t.Errorf("%s %s, want %s %s (%s)", got, o.Interpretation[0].Coding[0].Code, tt.value, tt.interpretation, tt.source)
			}
			if got := componentValue(o, fhir.LOINCFlexionActive); got != tt.degrees+" deg" {
				t.Errorf("measured %s, want %s deg as received", got, tt.degrees)
			}
			if got := componentValue(o, "range-needed"); got != "135 deg" {
				t.Errorf("needed %s, want 135 deg (75 %% of 180)", got)
			}
		})
	}
}

func TestRatio(t *testing.T) {
	s := newSent()
	s.strength(firstVisit, shoulder.External, shoulder.AtSide, "right", "60.8", "60.8")
	s.strength(firstVisit, shoulder.Internal, shoulder.AtSide, "right", "96.1", "96.1")
	s.strength(firstVisit, shoulder.External, shoulder.AtSide, "left", "80", "80")
	s.strength(firstVisit, shoulder.Internal, shoulder.AtSide, "left", "100", "100")
	found := results(s.answer(t, Transaction), fhir.CodeRotationRatio)
	if len(found) != 2 {
		t.Fatalf("%d ratios, want one for each side", len(found))
	}
	tests := []struct{ site, value, interpretation, source string }{
		{fhir.SNOMEDRightShoulder, "0.63 {ratio}", "L", "by hand: 60.8 / 96.1, under the band of 0.70 to 1.00"},
		{fhir.SNOMEDLeftShoulder, "0.80 {ratio}", "N", "by hand: 80 / 100"},
	}
	for i, tt := range tests {
		o := found[i]
		if o.BodySite.Coding[0].Code != tt.site || valueOf(o.Value) != tt.value || o.Interpretation[0].Coding[0].Code != tt.interpretation {
			t.Errorf("%s %s %s, want %s %s %s (%s)", o.BodySite.Coding[0].Code, valueOf(o.Value), o.Interpretation[0].Coding[0].Code,
				tt.site, tt.value, tt.interpretation, tt.source)
		}
		if r := o.ReferenceRange[0]; valueOf(r.Low) != "0.7 {ratio}" || valueOf(r.High) != "1 {ratio}" || r.Kind != nil {
			t.Errorf("band %s to %s, want the published one from 0.70 to 1.00, which R4 takes for the normal range", valueOf(r.Low), valueOf(r.High))
		}
		if componentOf(o, "rotation") != nil {
			t.Error("a ratio is of both rotations, want no component for one")
		}
	}
}

// An older session's ratio is history.
func TestRatioIsTheLatestOnly(t *testing.T) {
	if n := len(results(threeVisits().answer(t, Transaction), fhir.CodeRotationRatio)); n != 6 {
		t.Errorf("%d ratios of three visits, want 6: two sides in three positions", n)
	}
}

func TestChange(t *testing.T) {
	s := newSent()
	s.both(firstVisit, shoulder.External, shoulder.AtSide, "80")
	s.pain(firstVisit, "2")
	s.elevation(firstVisit, "120")
	s.both(secondVisit, shoulder.External, shoulder.AtSide, "95")
	s.pain(secondVisit, "0")
	s.elevation(secondVisit, "145")
	b := s.answer(t, Transaction)
	tests := []struct {
		code, value    string
		interpretation []string
		component      map[string]string
		source         string
	}{
		{"strength-change", "15.0 N", []string{"E"}, map[string]string{
			"previous-value": "80.0 N", "detectable-since-previous": "25.7 N",
		}, "clinical reference T20: 18.75 %, within error; by hand for two trials: 1.959964 x 87.5 x 0.1 x sqrt(1.125) x sqrt(2) = 25.72"},
		{"range-change", "25 deg", []string{"B"}, map[string]string{
			fhir.LOINCFlexionActive: "145 deg", "previous-value": "120 deg", "detectable-since-previous": "20 deg",
		}, "de Winter et al. 2004: 20 degrees between examiners"},
		{"pain-change", "-2 {score}", []string{"B"}, map[string]string{
			fhir.LOINCPainVerbalRating: "0 {score}", "previous-value": "2 {score}", "pain-context": "during-resisted-test",
		}, "Farrar et al. 2001: 2 points, less pain is better"},
	}
	for _, tt := range tests {
		t.Run(tt.code, func(t *testing.T) {
			found := results(b, tt.code)
			if len(found) == 0 {
				t.Fatalf("no %s", tt.code)
			}
			o := found[0]
			if got := valueOf(o.Value); got != tt.value || !slices.Equal(codesOf(o.Interpretation), tt.interpretation) {
				t.Errorf("%s %v, want %s %v (%s)", got, codesOf(o.Interpretation), tt.value, tt.interpretation, tt.source)
			}
			for code, want := range tt.component {
				if got := componentValue(o, code); got != want {
					t.Errorf("component %s = %q, want %s (%s)", code, got, want, tt.source)
				}
			}
		})
	}
	strengths := results(b, "strength-change")
	if len(strengths) != 1 || valueOf(strengths[0].BodySite) != fhir.SNOMEDRightShoulder {
		t.Errorf("%d changes of strength, want that of the involved side: the other had 100 N twice", len(strengths))
	}
}

// An index is read against the other side, so that what that side lost is shown.
func TestChangeOfTheOtherSide(t *testing.T) {
	s := newSent()
	weakerOtherSide(s)
	var sites []string
	for _, o := range results(s.answer(t, Transaction), fhir.CodeStrengthChange) {
		sites = append(sites, valueOf(o.BodySite))
	}
	if !slices.Contains(sites, fhir.SNOMEDLeftShoulder) {
		t.Errorf("changes of strength at %v, want the left side, which lost half", sites)
	}
}

// A change within error is not printed as one beyond it.
func TestChangeIsNotRoundedAcrossError(t *testing.T) {
	s := newSent()
	s.both(firstVisit, shoulder.External, shoulder.AtSide, "101")
	s.both(secondVisit, shoulder.External, shoulder.AtSide, "75.12")
	o := results(s.answer(t, Transaction), fhir.CodeStrengthChange)[0]
	if got := valueOf(o.Value); got != "-25.88 N" || !hasCode(&o.Interpretation[0], "E") {
		t.Errorf("%s %v, want -25.88 N E (by hand for two trials: 1.959964 x 88.06 x 0.15 = 25.889, so not -25.9)",
			got, codesOf(o.Interpretation))
	}
}

func TestChangeSinceTheFirstSession(t *testing.T) {
	o := results(threeVisits().answer(t, Transaction), fhir.CodeStrengthChange)[0]
	for code, want := range map[string]string{"previous-value": "80.0 N", "change-since-baseline": "33.0 N"} {
		if got := componentValue(o, code); got != want {
			t.Errorf("component %s = %q, want %s (by hand: 60, 80, 93)", code, got, want)
		}
	}
	if len(o.DerivedFrom) != 6 {
		t.Errorf("derivedFrom %v, want two trials of each of three sessions", o.DerivedFrom)
	}
}
