package record

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
)

func TestGoals(t *testing.T) {
	s := stiff()
	condition := &fhir.Condition{Subject: &fhir.Reference{Reference: "Patient/p1"}, BodySite: []fhir.CodeableConcept{rightShoulder}}
	condition.ID = "c1"
	code := standard(fhir.SystemSNOMED, fhir.SNOMEDRotatorCuffSyndrome, "")
	condition.Code = &code
	s.also(condition, "c1")
	b := s.answer(t, Transaction)
	goals := map[string]*fhir.Goal{}
	for _, g := range of[*fhir.Goal](b) {
		goals[g.Description.Coding[0].Code] = g
		if g.LifecycleStatus != "proposed" || g.Category[0].Coding[0].Code != "physiotherapy" {
			t.Errorf("goal %s is %s in %v, want proposed, physiotherapy", g.Description.Coding[0].Code, g.LifecycleStatus, g.Category)
		}
		if len(g.Addresses) != 1 || g.Addresses[0].Reference != "Condition/c1" {
			t.Errorf("addresses %v, want the Condition that was sent", g.Addresses)
		}
		if g.StartDate != "2026-03-02" || g.Description.Text == "" {
			t.Errorf("goal %+v, want a start on the day of the assessment and a text", g)
		}
	}
	tests := []struct {
		aim, measure, detail, due, source string
		targets                           int
	}{
		{"range", fhir.LOINCFlexionActive, "135 deg", "2026-04-13", "75 % of 180 degrees; 42 days", 1},
		{"even", fhir.CodeLimbSymmetryIndex, "90 %", "2026-04-13", "external rotation is good enough at the side", 1},
		{"good-enough", fhir.CodeLimbSymmetryIndex, "75 %", "2026-04-13", "internal rotation is not", 1},
		{"even-in-all-positions", fhir.CodeLimbSymmetryIndex, "90 %", "2026-05-25", "84 days", 3},
	}
	for _, tt := range tests {
		g := goals[tt.aim]
		if g == nil {
			t.Errorf("no goal %s", tt.aim)
			continue
		}
		target := g.Target[0]
		if len(g.Target) != tt.targets || !hasCode(target.Measure, tt.measure) || valueOf(target.Detail) != tt.detail || target.DueDate != tt.due {
			t.Errorf("goal %s: %d targets, %v %s by %s; want %d, %s %s by %s (%s)", tt.aim, len(g.Target), target.Measure.Coding, valueOf(target.Detail),
				target.DueDate, tt.targets, tt.measure, tt.detail, tt.due, tt.source)
		}
	}
	if got := goals["range"].OutcomeReference; len(got) != 1 || got[0].Reference == "" {
		t.Errorf("outcome of the range goal %v, want the present range", got)
	}
}

func TestPainGoal(t *testing.T) {
	s := onePosition("80")
	s.pain(firstVisit, "7")
	for _, g := range of[*fhir.Goal](s.answer(t, Transaction)) {
		if !hasCode(&g.Description, "pain") {
			continue
		}
		if target := g.Target[0]; !hasCode(target.Measure, fhir.LOINCPainVerbalRating) || valueOf(target.Detail) != "5 {score}" {
			t.Errorf("target %+v, want at most 5 of 10 (default protocol)", target)
		}
		if len(g.OutcomeReference) != 1 || g.OutcomeReference[0].Reference != "Observation/o5" {
			t.Errorf("outcome %v, want the pain that was sent", g.OutcomeReference)
		}
		return
	}
	t.Error("no goal about pain at 7 of 10")
}

func TestAchievementStatus(t *testing.T) {
	for _, g := range of[*fhir.Goal](twoVisits().answer(t, Transaction)) {
		if c := g.AchievementStatus.Coding[0]; c.System != fhir.SystemGoalAchievement || c.Code != "in-progress" {
			t.Errorf("achievement %+v, want in-progress: each test rose by 20 of 70 N, which is 1.28 times its error of 30.5 / 1.96, and is probable and not clear", c)
		}
	}
}

func TestCarePlan(t *testing.T) {
	s := stiff()
	s.encounter("Encounter/e1")
	earlier := &fhir.CarePlan{Status: "draft", Intent: "proposal", Subject: &fhir.Reference{Reference: "Patient/p1"}}
	earlier.ID, earlier.Identifier = "old", []fhir.Identifier{{System: fhir.SystemResult, Value: "of an earlier answer"}}
	s.also(earlier, "old")
	b := s.answer(t, Transaction)
	c := of[*fhir.CarePlan](b)[0]
	if c.Status != "draft" || c.Intent != "proposal" {
		t.Errorf("%s %s, want a draft proposal: a clinician decides", c.Status, c.Intent)
	}
	if got := codesOf(c.Category); !slices.Equal(got, []string{"734163000", "736055001", "assess-plan"}) {
		t.Errorf("categories %v (design section 5)", got)
	}
	if got := c.InstantiatesCanonical; len(got) != 1 || got[0] != "https://evenreach.example/fhir/PlanDefinition/evenreach-default|2.0.0" {
		t.Errorf("instantiatesCanonical %v, want the protocol and its version", got)
	}
	if len(c.Replaces) != 1 || c.Replaces[0].Reference != "CarePlan/old" {
		t.Errorf("replaces %v, want the plan of the earlier answer", c.Replaces)
	}
	if c.Encounter == nil || c.Encounter.Reference != "Encounter/e1" {
		t.Errorf("encounter %v, want that of the latest session", c.Encounter)
	}
	if *c.Period != (fhir.Period{Start: "2026-03-02", End: "2026-03-30"}) {
		t.Errorf("period %+v, want until the latest day of the re-check, 28 days on", c.Period)
	}
	if len(c.Goal) != len(of[*fhir.Goal](b)) || len(c.Note) < 4 || c.Text == nil || c.Author == nil {
		t.Errorf("goals %v, %d notes; want every goal, the cautions, a narrative and an author", c.Goal, len(c.Note))
	}
	for _, e := range b.Entry {
		if o, ok := e.Resource.(*fhir.Observation); ok && hasCode(&o.Code, fhir.CodeOverallReadiness) && !refersTo(c.SupportingInfo, e.FullURL) {
			t.Errorf("supportingInfo %v lacks the overall status, from which the results are reached", c.SupportingInfo)
		}
	}
}

func TestActivities(t *testing.T) {
	c := of[*fhir.CarePlan](stiff().answer(t, Transaction))[0]
	tests := []struct {
		code, standard, start, source string
		goals                         int
	}{
		{"strengthen", fhir.SNOMEDMuscleStrengthening, "2026-03-02", "work at the open step, for the next goal and evenness", 2},
		{"restore-range", fhir.SNOMEDExerciseTherapy, "2026-03-02", "range limits", 1},
		{fhir.LOINCAbductionActive, fhir.SNOMEDActiveRangeAssessment, "2026-03-02", "abduction was not measured: asked for first", 0},
		{fhir.LOINCFlexionActive, fhir.SNOMEDActiveRangeAssessment, "2026-03-16", "at the re-check from two weeks on", 1},
		{fhir.CodeExternalRotationStrength, fhir.SNOMEDEvaluation, "2026-03-16", "at the re-check", 2},
	}
	for _, tt := range tests {
		i := slices.IndexFunc(c.Activity, func(a fhir.Activity) bool { return hasCode(a.Detail.Code, tt.code) })
		if i < 0 {
			t.Errorf("no activity %s (%s)", tt.code, tt.source)
			continue
		}
		d := c.Activity[i].Detail
		if d.Kind != "ServiceRequest" || d.Status != "not-started" || !hasCode(d.Code, tt.standard) || d.Description == "" && d.Code.Text == "" {
			t.Errorf("%s: %+v, want a ServiceRequest with a standard code, not started, described", tt.code, d)
		}
		if d.ScheduledPeriod.Start != tt.start || len(d.Goal) != tt.goals || len(d.ReasonReference) != 1 {
			t.Errorf("%s: from %s for %d goals because of %v; want from %s for %d (%s)",
				tt.code, d.ScheduledPeriod.Start, len(d.Goal), d.ReasonReference, tt.start, tt.goals, tt.source)
		}
	}
	for _, a := range c.Activity {
		if a.Detail.DoNotPerform || strings.TrimSpace(a.Detail.Code.Text) == "" {
			t.Errorf("%+v: want something to do, in words", a.Detail)
		}
	}
}
