package record

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// stiff is a first visit with a stiff shoulder: strong enough at the side, not
// tested overhead, 75 degrees of active flexion and little more passively.
func stiff() *sent {
	s := newSent()
	s.both(firstVisit, shoulder.External, shoulder.AtSide, "88")
	s.both(firstVisit, shoulder.Internal, shoulder.AtSide, "74")
	s.observation(rangeConcept(shoulder.Flexion, true), firstVisit, "right", quantity("75", "deg"))
	s.observation(rangeConcept(shoulder.Flexion, false), firstVisit, "right", quantity("80", "deg"))
	s.pain(firstVisit, "3")
	return s
}

func TestMotionReadiness(t *testing.T) {
	found := results(stiff().answer(t, Transaction), fhir.CodeRotationReadiness)
	if len(found) != 2 {
		t.Fatalf("%d, want one for each rotation", len(found))
	}
	external, internal := found[0], found[1]
	both := results(stiff().answer(t, Transaction), fhir.CodeOverallReadiness)[0]
	tests := []struct {
		of        *fhir.Observation
		component string
		want      string
		source    string
	}{
		{external, "rotation", fhir.SNOMEDExternalRotation, "the first is external"},
		{external, "good-enough-arm-at-side", "met", "88 is at least 75"},
		{external, "good-enough-arm-at-side-value", "", "the index has the value"},
		{external, "even-arm-at-side", "not-met", "88 is under 90"},
		{both, "range-open-flexion-90", "not-met", "75 of 180 degrees is under 75 %"},
		{both, "range-open-flexion-90-value", "", "the range fraction has the value"},
		{both, "range-open-arm-at-side", "", "of an elevated position, so that it does not apply"},
		{both, "range-open-abduction-90", "not-measured", "abduction was not measured"},
		{both, "pain-acceptable-arm-at-side", "met", "3 is at most 5"},
		{both, "pain-acceptable-arm-at-side-value", "3 {score}", "as received"},
		{both, "tissue-healed", "", "no repair, so that it does not apply"},
		{both, "arm-steady-flexion-90", "not-measured", "nobody noted it"},
		{external, "pain-acceptable-arm-at-side", "", "both rotations share it"},
		{external, "next-step", "flexion-90-supported", "design section 4: the steps"},
		{external, "held-by", "range-open-flexion-90", "design section 4: range gate"},
		{internal, "rotation", fhir.SNOMEDInternalRotation, "the second is internal"},
		{internal, "good-enough-arm-at-side", "not-met", "74 is under 75"},
		{internal, "held-by", "good-enough-arm-at-side", "design section 4: the steps"},
	}
	for _, tt := range tests {
		if got := componentValue(tt.of, tt.component); got != tt.want {
			t.Errorf("%s = %q, want %s (%s)", tt.component, got, tt.want, tt.source)
		}
	}
	if got := valueOf(external.Value); got != "arm-at-side" {
		t.Errorf("step %s, want arm-at-side", got)
	}
}

func TestCriterionShowsItsThreshold(t *testing.T) {
	o := results(stiff().answer(t, Transaction), fhir.CodeOverallReadiness)[0]
	c := componentOf(o, "pain-acceptable-arm-at-side-value")
	if c == nil || len(c.ReferenceRange) != 1 {
		t.Fatalf("%+v, want one reference range", c)
	}
	if r := c.ReferenceRange[0]; quantityText(r.Low) != "" || quantityText(r.High) != "5 {score}" || !hasCode(r.Kind, "pain-acceptable") {
		t.Errorf("from %q to %q by %+v, want to 5 by the rule of pain (default protocol)", quantityText(r.Low), quantityText(r.High), r.Kind)
	}
}

func quantityText(q *fhir.Quantity) string {
	if q == nil {
		return ""
	}
	return valueOf(q)
}

func TestNotMeasuredHasNoValue(t *testing.T) {
	o := results(stiff().answer(t, Transaction), fhir.CodeRotationReadiness)[0]
	if got := componentValue(o, "even-abduction-90"); got != "not-measured" || componentOf(o, "even-abduction-90-value") != nil {
		t.Errorf("verdict %q with %+v, want not-measured without a value", got, componentOf(o, "even-abduction-90-value"))
	}
}

func TestVerdictThatIsNotClearIsEquivocal(t *testing.T) {
	o := results(stiff().answer(t, Transaction), fhir.CodeRotationReadiness)[0]
	c := componentOf(o, "even-arm-at-side")
	if got := codesOf(c.Interpretation); !slices.Equal(got, []string{"E"}) {
		t.Errorf("interpretation %v, want equivocal alone: 88 %% leaves open whether 90 %% is met", got)
	}
}

// What holds a step says why.
func TestHoldingCriterionSaysWhy(t *testing.T) {
	o := results(stiff().answer(t, Transaction), fhir.CodeRotationReadiness)[1]
	c := componentOf(o, "held-by")
	if text := c.Value.(*fhir.CodeableConcept).Text; !strings.Contains(text, "75.0 N") || !strings.Contains(text, "74.0 N") {
		t.Errorf("text %q, want the strength that is needed, 75.0 N, and the one measured, 74.0 N", text)
	}
}

func TestManualGradeIsNoNumber(t *testing.T) {
	s := newSent()
	grade := s.observation(*coded(fhir.CodeExternalRotationGrade), firstVisit, "right", fhir.Integer(4))
	grade.Component = []fhir.Component{{Code: *coded(fhir.CodeArmPosition), Value: coded("arm-at-side")}}
	o := results(s.answer(t, Transaction), fhir.CodeRotationReadiness)[0]
	if got := componentValue(o, "good-enough-arm-at-side"); got != "met" {
		t.Errorf("verdict %s, want met: grade 4 is good enough (common practice)", got)
	}
	c := componentOf(o, "good-enough-arm-at-side-value")
	if valueOf(c.Value) != "4" || c.ReferenceRange[0].Low != nil || !strings.HasPrefix(c.ReferenceRange[0].Text, ">= 4") {
		t.Errorf("%+v, want the grade as text beside >= 4: it is ordinal", c)
	}
}

// R4 derives an Observation from no Procedure: the repair stands with the plan
// and the Provenance.
func TestRepairIsNoSourceOfAnObservation(t *testing.T) {
	s := stiff()
	s.repaired("2026-02-16")
	b := s.answer(t, Transaction)
	o := results(b, fhir.CodeRotationReadiness)[0]
	if got := valueOf(o.Value); got != "no-resisted-work" {
		t.Errorf("step %s, want no-resisted-work: two weeks after the repair", got)
	}
	if got := componentValue(results(b, fhir.CodeOverallReadiness)[0], "tissue-healed-value"); got != "2.0 wk" {
		t.Errorf("weeks %s, want 2.0 wk", got)
	}
	refersTo := func(references []fhir.Reference) bool {
		return slices.ContainsFunc(references, func(r fhir.Reference) bool { return r.Reference == "Procedure/repair" })
	}
	if refersTo(o.DerivedFrom) {
		t.Error("derivedFrom has a Procedure, which R4 does not allow")
	}
	if !refersTo(of[*fhir.CarePlan](b)[0].SupportingInfo) {
		t.Error("the plan does not name the repair that it rests on")
	}
}

// A rotation is judged by its indices, which are judged by the trials.
func TestReadinessRestsOnItsIndices(t *testing.T) {
	b := threeVisits().answer(t, Transaction)
	from := map[string]bool{}
	for _, r := range results(b, fhir.CodeRotationReadiness)[0].DerivedFrom {
		from[r.Reference] = true
	}
	for _, e := range b.Entry {
		index, ok := e.Resource.(*fhir.Observation)
		if !ok || !hasCode(&index.Code, fhir.CodeLimbSymmetryIndex) {
			continue
		}
		isExternal := componentValue(index, "rotation") == fhir.SNOMEDExternalRotation
		if from[e.FullURL] != isExternal {
			t.Errorf("index %s of external rotation %v is in derivedFrom %v", e.FullURL, isExternal, from[e.FullURL])
		}
		delete(from, e.FullURL)
	}
	if len(from) != 0 {
		t.Errorf("derivedFrom has %v beside the indices", from)
	}
}

func TestOverallReadiness(t *testing.T) {
	tests := []struct {
		name  string
		input *sent
		want  string
	}{
		{"range holds", stiff(), "limited-by-range"},
		{"good enough everywhere", twoVisits(), "strengthening"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := tt.input.answer(t, Transaction)
			o := results(b, fhir.CodeOverallReadiness)[0]
			if got := valueOf(o.Value); got != tt.want {
				t.Errorf("status %s, want %s (design section 4.13)", got, tt.want)
			}
			if len(o.HasMember) != 2 {
				t.Errorf("hasMember %v, want both rotations", o.HasMember)
			}
		})
	}
}

func TestCriterionCode(t *testing.T) {
	tests := []struct {
		rule     readiness.Rule
		position shoulder.ArmPosition
		want     string
	}{
		{readiness.Even, shoulder.Abduction90, "even-abduction-90"},
		{readiness.TissueHealed, shoulder.PositionUnstated, "tissue-healed"},
	}
	for _, tt := range tests {
		if got := CriterionCode(tt.rule, tt.position); got != tt.want {
			t.Errorf("CriterionCode(%s, %s) = %s, want %s", tt.rule, tt.position, got, tt.want)
		}
	}
}
