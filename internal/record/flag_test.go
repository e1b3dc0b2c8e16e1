package record

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// motion adds a range of flexion of the right side.
func (s *sent) motion(when string, active bool, degrees string) {
	s.observation(rangeConcept(shoulder.Flexion, active), when, "right", quantity(degrees, "deg"))
}

// painAt adds a pain score of an occasion.
func (s *sent) painAt(when, context, score string) {
	o := s.observation(painScore, when, "right", quantity(score, "{score}"))
	o.Component = []fhir.Component{{Code: *coded(fhir.CodePainContext), Value: coded(context)}}
}

// grade adds a manual grade of external rotation at the right side.
func (s *sent) grade(when, grade string) {
	o := s.observation(*coded(fhir.CodeExternalRotationGrade), when, "right", fhir.String(grade))
	o.Component = []fhir.Component{{Code: *coded(fhir.CodeArmPosition), Value: coded("arm-at-side")}}
}

// flagCases are each red flag with the numbers that show it.
var flagCases = []struct {
	flag       string
	make       func(*sent)
	effective  string
	components map[string]string
	source     string
}{
	{"sudden-strength-loss", func(s *sent) {
		s.both(firstVisit, shoulder.External, shoulder.AtSide, "90")
		s.both(secondVisit, shoulder.External, shoulder.AtSide, "30")
	}, secondVisit, map[string]string{
		"red-flag-measure": fhir.CodeExternalRotationStrength, "rotation": fhir.SNOMEDExternalRotation, "arm-position": "arm-at-side",
		"current-value": "30.0 N", "current-date": secondVisit, "against-value": "90.0 N", "against-date": firstVisit,
		"red-flag-value": "66.7 %", "tests": "1",
	}, "by hand: 60 of 90 N; the default is 40 % of a single test"},
	{"range-loss", func(s *sent) {
		s.motion(firstVisit, true, "150")
		s.motion(secondVisit, true, "110")
	}, secondVisit, map[string]string{
		"red-flag-measure": fhir.LOINCFlexionActive, "current-value": "110 deg", "against-value": "150 deg", "red-flag-value": "40 deg",
	}, "by hand: 40 degrees; the default is 30"},
	{"near-zero-force", func(s *sent) { s.both(firstVisit, shoulder.Internal, shoulder.AtSide, "6") }, firstVisit, map[string]string{
		"red-flag-measure": fhir.CodeInternalRotationStrength, "current-value": "6.0 N", "red-flag-value": "6.0 N",
	}, "the default is 10 N"},
	{"near-zero-force", func(s *sent) { s.grade(firstVisit, "2-") }, firstVisit, map[string]string{
		"red-flag-measure": fhir.CodeExternalRotationGrade, "current-value": "2-", "red-flag-value": "2-",
	}, "the default is grade 2"},
	{"cannot-lift", func(s *sent) {
		s.motion(firstVisit, true, "60")
		s.motion(firstVisit, false, "150")
	}, firstVisit, map[string]string{
		"red-flag-measure": fhir.LOINCFlexionActive, "red-flag-against": fhir.LOINCFlexionPassive,
		"current-value": "60 deg", "against-value": "150 deg", "red-flag-value": "60 deg",
	}, "the defaults are 90 degrees and 30 more passively"},
	{"cannot-lift", func(s *sent) {
		s.both(firstVisit, shoulder.External, shoulder.AtSide, "40")
		s.motion(firstVisit, true, "60")
	}, firstVisit, map[string]string{
		"red-flag-measure": fhir.LOINCFlexionActive, "red-flag-against": fhir.CodeLimbSymmetryIndex, "against-value": "40.0 %",
	}, "the defaults are 90 degrees and an index of 50 %"},
	{"pain-surge", func(s *sent) {
		s.pain(firstVisit, "2")
		s.pain(secondVisit, "6")
	}, secondVisit, map[string]string{
		"red-flag-measure": fhir.LOINCPainVerbalRating, "pain-context": "during-resisted-test",
		"current-value": "6 {score}", "against-value": "2 {score}", "red-flag-value": "4 {score}",
	}, "by hand: a rise of 4; the default is 3"},
	{"high-rest-pain", func(s *sent) { s.painAt(firstVisit, "at-rest", "6") }, firstVisit, map[string]string{
		"red-flag-measure": fhir.LOINCPainVerbalRating, "pain-context": "at-rest", "red-flag-value": "6 {score}",
	}, "the default is above 5"},
	{"resisted-test-before-clearance", func(s *sent) {
		s.both(firstVisit, shoulder.External, shoulder.AtSide, "80")
		s.repaired("2026-02-16")
	}, firstVisit, map[string]string{
		"current-value": "14.0 d", "against-date": "2026-02-16", "red-flag-value": "2.0 wk",
	}, "two weeks; the default is 12"},
}

func TestRedFlag(t *testing.T) {
	for _, tt := range flagCases {
		t.Run(tt.flag, func(t *testing.T) {
			s := newSent()
			tt.make(s)
			s.pain(firstVisit, "1") // something beside it that raises none
			found := results(s.answer(t, Transaction), fhir.CodeRedFlag)
			if len(found) != 1 || valueOf(found[0].Value) != tt.flag {
				t.Fatalf("%d red flags, want %s alone", len(found), tt.flag)
			}
			o := found[0]
			if o.Status != "preliminary" || valueOf(o.Effective) != tt.effective || !slices.Equal(codesOf(o.Interpretation), []string{"A"}) {
				t.Errorf("%s at %s %v, want preliminary at %s, abnormal", o.Status, valueOf(o.Effective), codesOf(o.Interpretation), tt.effective)
			}
			if valueOf(o.BodySite) != fhir.SNOMEDRightShoulder || len(o.DerivedFrom) == 0 || len(o.Note) != 1 || componentValue(o, "red-flag-holds") != "true" {
				t.Errorf("%+v, want the involved shoulder, the inputs, a sentence, and that it holds", o)
			}
			for code, want := range tt.components {
				if got := componentValue(o, code); got != want {
					t.Errorf("%s = %q, want %s (%s)", code, got, want, tt.source)
				}
			}
			held := componentOf(o, "red-flag-value")
			if len(held.ReferenceRange) != 1 || !hasCode(held.ReferenceRange[0].Kind, tt.flag) || len(held.Interpretation) != 1 || hasCode(&held.Interpretation[0], "N") {
				t.Errorf("%+v, want the threshold of the rule, on the wrong side of it", held)
			}
		})
	}
}

// The reference range is where there is no flag.
func TestRangeWithoutAFlag(t *testing.T) {
	for i, want := range []struct{ low, high, interpretation string }{
		{"", "40 %", "H"}, {"", "30 deg", "H"}, {"10 N", "", "L"}, {"", "", "L"}, {"90 deg", "", "L"}, {"90 deg", "", "L"},
		{"", "3 {score}", "H"}, {"", "5 {score}", "H"}, {"12 wk", "", "L"},
	} {
		s := newSent()
		flagCases[i].make(s)
		held := componentOf(results(s.answer(t, Transaction), fhir.CodeRedFlag)[0], "red-flag-value")
		r := held.ReferenceRange[0]
		if quantityText(r.Low) != want.low || quantityText(r.High) != want.high || codesOf(held.Interpretation)[0] != want.interpretation {
			t.Errorf("%s: from %q to %q, %v, want from %q to %q, %s (default protocol)",
				flagCases[i].flag, quantityText(r.Low), quantityText(r.High), codesOf(held.Interpretation), want.low, want.high, want.interpretation)
		}
	}
}

// A red flag comes before everything else, and keeps all load out of the plan.
func TestRedFlagComesFirst(t *testing.T) {
	s := weakened()
	s.elevation(secondVisit, "170")
	b := s.answer(t, Transaction)
	flag := b.Entry[1]
	if o, ok := flag.Resource.(*fhir.Observation); !ok || !hasCode(&o.Code, fhir.CodeRedFlag) {
		t.Errorf("behind the Device stands a %s, want the red flag", flag.Resource.Type())
	}
	if got := of[*fhir.DiagnosticReport](b)[0].Result[0].Reference; got != flag.FullURL {
		t.Errorf("the first result is %s, want the red flag %s", got, flag.FullURL)
	}
	overall := results(b, fhir.CodeOverallReadiness)[0]
	if valueOf(overall.Value) != "examine-first" || componentValue(overall, "red-flag") != "sudden-strength-loss" {
		t.Errorf("status %s with flag %q, want examine-first with sudden-strength-loss", valueOf(overall.Value), componentValue(overall, "red-flag"))
	}
	if !refersTo(overall.DerivedFrom, flag.FullURL) {
		t.Error("the status does not rest on the red flag")
	}
	plan := of[*fhir.CarePlan](b)[0]
	if len(of[*fhir.Goal](b)) != 0 || len(plan.Goal) != 0 || !refersTo(plan.SupportingInfo, flag.FullURL) {
		t.Error("want no goal under a red flag, and a plan that rests on it")
	}
	var asked []string
	for _, a := range plan.Activity {
		asked = append(asked, a.Detail.Code.Coding[0].Code)
		if !refersTo(a.Detail.ReasonReference, flag.FullURL) {
			t.Errorf("the reason of %s is %v, want the red flag", a.Detail.Code.Coding[0].Code, a.Detail.ReasonReference)
		}
	}
	if !slices.Equal(asked, []string{"examination", "surgeon-contact"}) {
		t.Errorf("activities %v, want the examination, then the surgeon, and no exercise (safety rules, section 1)", asked)
	}
}

func refersTo(references []fhir.Reference, to string) bool {
	return slices.ContainsFunc(references, func(r fhir.Reference) bool { return r.Reference == to })
}

// A flag that was examined stays in the record and holds nothing.
func TestExaminedFlag(t *testing.T) {
	s := weakened()
	examination := s.statement(fhir.CodeExaminedAndCleared, fhir.Boolean(true))
	b := s.answer(t, Transaction)
	o := results(b, fhir.CodeRedFlag)[0]
	if componentValue(o, "red-flag-holds") != "false" || componentValue(o, "examination-date") != "2026-03-24" || len(o.Interpretation) != 0 {
		t.Errorf("holds %s, examined %q, %v; want examined on 2026-03-24 and nothing abnormal",
			componentValue(o, "red-flag-holds"), componentValue(o, "examination-date"), o.Interpretation)
	}
	if !refersTo(o.DerivedFrom, "Observation/"+examination.ID) {
		t.Errorf("derivedFrom %v, want the examination among them", o.DerivedFrom)
	}
	overall := results(b, fhir.CodeOverallReadiness)[0]
	if valueOf(overall.Value) == "examine-first" || componentOf(overall, "red-flag") != nil {
		t.Errorf("status %s, want another than examine-first, and no flag that holds", valueOf(overall.Value))
	}
}

// Doubts have one code wherever they stand.
func TestDoubtsAreInputIssues(t *testing.T) {
	for d, kind := range doubtKinds {
		if measure.Doubt(d).String() != kind.String() {
			t.Errorf("doubt %s is the input issue %s, want one code", measure.Doubt(d), kind)
		}
	}
}

// A doubted index is shown and decides nothing.
func TestDoubtedIndex(t *testing.T) {
	disagreeing := newSent()
	disagreeing.strength(firstVisit, shoulder.External, shoulder.AtSide, "right", "80", "81", "130")
	disagreeing.strength(firstVisit, shoulder.External, shoulder.AtSide, "left", "100", "100", "100")
	declined := newSent()
	weakerOtherSide(declined)
	tests := []struct {
		name           string
		input          *sent
		doubt          fault.Kind
		interpretation []string
		decides        bool
	}{
		{"trials disagree", disagreeing, fault.TrialsDisagree, []string{"E"}, false},
		{"sides exchanged", onePosition("160"), fault.SidesMayBeSwapped, []string{"E"}, false},
		{"the other side lost strength", declined, fault.ComparisonDeclined, []string{"N", "E"}, true}, // 48 of 50 N is even
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := tt.input.answer(t, Transaction)
			o := results(b, fhir.CodeLimbSymmetryIndex)[0]
			if got := componentValue(o, "doubt"); got != tt.doubt.String() {
				t.Errorf("doubt %q, want %s", got, tt.doubt)
			}
			if got := codesOf(o.Interpretation); !slices.Equal(got[:len(tt.interpretation)], tt.interpretation) {
				t.Errorf("interpretation %v, want %v", got, tt.interpretation)
			}
			motion := results(b, fhir.CodeRotationReadiness)[0]
			if got := componentValue(motion, "good-enough-arm-at-side") != "not-measured"; got != tt.decides {
				t.Errorf("the index decides %v, want %v", got, tt.decides)
			}
		})
	}
}

// Against the strength that the other side had the index is half of what it seems.
func TestIndexAgainstTheOtherSidesBest(t *testing.T) {
	s := newSent()
	weakerOtherSide(s)
	o := results(s.answer(t, Transaction), fhir.CodeLimbSymmetryIndex)[0]
	for code, want := range map[string]string{
		"earlier-best-index": "48.0 %", // by hand: 48 of 100 N
		"earlier-best-date":  firstVisit,
		"usual-index":        "48.0 %", // by hand: 48 of the 100 N before the present run
	} {
		if got := componentValue(o, code); got != want {
			t.Errorf("%s = %q, want %s", code, got, want)
		}
	}
}

// What was even and confirmed and is no longer is shown beside what it is now.
func TestWasEven(t *testing.T) {
	s := newSent()
	s.both(firstVisit, shoulder.External, shoulder.AtSide, "98")
	s.both(secondVisit, shoulder.External, shoulder.AtSide, "97")
	s.both(thirdVisit, shoulder.External, shoulder.AtSide, "85")
	o := results(s.answer(t, Transaction), fhir.CodeLimbSymmetryIndex)[0]
	if got := componentValue(o, "was-even") + " " + componentValue(o, "was-even-date"); got != "97.0 % "+secondVisit {
		t.Errorf("was even: %s, want 97.0 %% at the second visit, which the first confirms", got)
	}
	if got := codesOf(o.Interpretation); got[0] != "L" {
		t.Errorf("interpretation %v, want low: 85 is under 90", got)
	}
}

func TestDominantSide(t *testing.T) {
	s := newSent()
	s.both(firstVisit, shoulder.Internal, shoulder.AtSide, "107")
	hand := standard(fhir.SystemSNOMED, fhir.SNOMEDRightHanded, "")
	s.observation(standard(fhir.SystemSNOMED, fhir.SNOMEDHandedness, ""), firstVisit, "", &hand)
	o := results(s.answer(t, Transaction), fhir.CodeLimbSymmetryIndex)[0]
	if componentValue(o, "dominant-side") != "right" || componentValue(o, "dominant-adjusted-index") != "100.0 %" {
		t.Errorf("dominant %s, adjusted %s; want right, 100.0 %%: 107 / 1.07 (Tyler et al. 2005)",
			componentValue(o, "dominant-side"), componentValue(o, "dominant-adjusted-index"))
	}
	if valueOf(o.Value) != "107.0 %" {
		t.Errorf("index %s, want it as measured", valueOf(o.Value))
	}
}

// A weak score has the error of the floor, and one of 0 has none in per cent.
func TestStandardErrorOfWeakScores(t *testing.T) {
	tests := []struct{ newtons, want, source string }{
		{"20", "25.0 %", "5 N of 20 N; the floor is 5 N"},
		{"0", "", "no per cent of 0"},
	}
	for _, tt := range tests {
		o := results(onePosition(tt.newtons).answer(t, Transaction), fhir.CodeLimbSymmetryIndex)[0]
		c := componentOf(o, "involved-standard-error")
		if got := componentValue(o, "involved-standard-error"); got != tt.want {
			t.Errorf("%s N: %q, want %q (%s)", tt.newtons, got, tt.want, tt.source)
		}
		if (c.DataAbsentReason != nil) != (tt.want == "") {
			t.Errorf("%s N: %+v, want a reason where there is no number", tt.newtons, c)
		}
	}
}

// Without a good side each side is shown against its own first measurement.
func TestChangeOfBothSides(t *testing.T) {
	b := bothAffected().answer(t, Transaction)
	changes := map[string]string{}
	for _, o := range results(b, fhir.CodeStrengthChange) {
		changes[valueOf(o.BodySite)] = valueOf(o.Value) + ", " + strings.Join(codesOf(o.Interpretation), " ")
	}
	// By hand for two trials: 1.959964 x 75 x 0.15 = 22.0 and 1.959964 x 105 x 0.15 = 30.9.
	if changes[fhir.SNOMEDRightShoulder] != "30.0 N, B" || changes[fhir.SNOMEDLeftShoulder] != "10.0 N, E" {
		t.Errorf("%v, want 30.0 N improved on the right and 10.0 N within error on the left", changes)
	}
	motion := results(b, fhir.CodeRotationReadiness)[0]
	held := componentOf(motion, "good-enough-arm-at-side-value")
	if componentValue(motion, "good-enough-arm-at-side") != "met" || valueOf(held.Value) != "30.0 N" || valueOf(held.ReferenceRange[0].Low) != "22.05 N" {
		t.Errorf("%s, %+v; want met by 30 N over the detectable 22.05 N", componentValue(motion, "good-enough-arm-at-side"), held)
	}
}

func TestHealingPhase(t *testing.T) {
	s := stiff()
	s.repaired("2025-11-24") // 14 weeks before
	o := results(s.answer(t, Transaction), fhir.CodeOverallReadiness)[0]
	for code, want := range map[string]string{
		"permitted-load":           "load-progressive-at-side",
		"next-load":                "load-elevated",
		"next-load-date":           "2026-03-16", // 16 weeks after the repair
		"function-permitted":       "not-met",
		"function-permitted-value": "14.0 wk",
		"all-measured":             "not-met",
		"rest-pain-low":            "not-measured",
		"test-pain-low-value":      "3 {score}",
		"worst-pain-known":         "not-measured",
	} {
		if got := componentValue(o, code); got != want {
			t.Errorf("%s = %q, want %s (default protocol)", code, got, want)
		}
	}
	if at, up := componentValue(o, "load-permitted-arm-at-side"), componentValue(o, "load-permitted-flexion-90"); at != "met" || up != "not-met" {
		t.Errorf("load permitted at the side %s and at flexion %s, want met and not-met", at, up)
	}
}

// Without a repair nothing limits the load.
func TestNoHealingPhase(t *testing.T) {
	o := results(twoVisits().answer(t, Transaction), fhir.CodeOverallReadiness)[0]
	if componentOf(o, "permitted-load") != nil || componentOf(o, "function-permitted") != nil {
		t.Errorf("permitted load %q, want none, and no verdict on what does not apply", componentValue(o, "permitted-load"))
	}
}
