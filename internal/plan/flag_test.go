package plan

import (
	"slices"
	"testing"

	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

func asks(p *Plan) (all []Ask) {
	for _, r := range p.Requests {
		all = append(all, r.Ask)
	}
	return all
}

// Each red flag empties the plan and asks for the examination first; for the surgeon
// as well after a repair, or when strength or range was lost suddenly.
func TestARedFlagEmptiesThePlan(t *testing.T) {
	edited := func(edit func(*visit)) visit {
		v := complete(300, "80")
		edit(&v)
		return v
	}
	before := complete(286, "80")
	tests := []struct {
		name    string
		visits  []visit
		weeks   int // since a repair, 0 for none
		surgeon bool
	}{
		{"half the strength of two weeks ago", []visit{before, complete(300, "40")}, 0, true},
		{"60 degrees of flexion lost", []visit{before, edited(func(v *visit) { v.Flexion = "105" })}, 0, true},
		{"5 N at the side", []visit{edited(func(v *visit) { v.ER[0] = "5" })}, 0, true},
		{"no force at all", []visit{edited(func(v *visit) { v.IR[0] = "0" })}, 0, true},
		{"grade 2", []visit{{Day: 300, Grades: [3]shoulder.MuscleGrade{shoulder.Grade2}, Flexion: "165", Abduction: "165", Pain: "1"}}, 0, true},
		{"lifts 60 degrees, is lifted 150", []visit{edited(func(v *visit) { v.Flexion, v.PassiveFlexion = "60", "150" })}, 0, true},
		{"lifts 60 degrees, external rotation 40 %", []visit{edited(func(v *visit) { v.Flexion, v.ER = "60", all("40") })}, 0, true},
		{"pain in the test from 1 to 6", []visit{before, edited(func(v *visit) { v.Pain = "6" })}, 0, false},
		{"pain at rest 9", []visit{edited(func(v *visit) { v.RestPain = "9" })}, 0, false},
		{"worst pain 8", []visit{edited(func(v *visit) { v.WorstPain = "8" })}, 0, false},
		{"pain at rest 9, 30 weeks after a repair", []visit{edited(func(v *visit) { v.RestPain = "9" })}, 30, true},
		{"tested 8 weeks after a repair", []visit{complete(300, "80")}, 8, true},
		{"even twice, with pain at rest 9", []visit{complete(286, "95"), edited(func(v *visit) { v.ER, v.IR, v.RestPain = all("95"), all("95"), "9" })}, 0, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := shouldertest.Episode(tt.visits...)
			if tt.weeks > 0 {
				repairedBefore(tt.weeks)(e)
			}
			p := planned(e)
			if len(p.Exercises) > 0 || len(p.Goals) > 0 {
				t.Errorf("exercises %v and %d goals, want none", purposes(p), len(p.Goals))
			}
			got := asks(p)
			if len(got) == 0 || got[0] != AskExamination || p.Requests[0].Why != WhyRedFlag || !p.Requests[0].First {
				t.Fatalf("asks for %v, want the examination first", got)
			}
			if slices.Contains(got, AskSurgeon) != tt.surgeon || tt.surgeon && got[1] != AskSurgeon {
				t.Errorf("asks for %v, want the surgeon: %v", got, tt.surgeon)
			}
			if slices.Contains(got, AskStrength) || slices.Contains(got, AskRange) {
				t.Errorf("asks for %v, want no test of the shoulder", got)
			}
			if want := (Window{shouldertest.Day(300), shouldertest.Day(307)}); p.Recheck != want || !p.Examine {
				t.Errorf("examine %v within %v, want within a week: %v", p.Examine, p.Recheck, want)
			}
		})
	}
}

// A flag that a clinician has examined no longer holds the plan.
func TestAnExaminedFlagLeavesThePlan(t *testing.T) {
	v := complete(300, "80")
	v.RestPain = "6"
	e := shouldertest.Episode(v)
	e.Examinations = []shoulder.Statement{{Source: shouldertest.Next(), When: shouldertest.Day(300), IsDay: true, Cleared: true}}
	if p := planned(e); p.Examine || len(p.Exercises) == 0 || len(p.Goals) == 0 || slices.Contains(asks(p), AskExamination) {
		t.Errorf("exercises %v, asks for %v, want to go on", purposes(p), asks(p))
	}
	e.Examinations[0].When = shouldertest.Day(299)
	if p := planned(e); !p.Examine || len(p.Exercises) > 0 {
		t.Errorf("exercises %v after an examination of the day before, want none", purposes(p))
	}
}

// A doubt asks before everything else, and what is in doubt opens nothing.
func TestADoubtAsksFirstAndDecidesNothing(t *testing.T) {
	edited := func(edit func(*visit)) visit {
		v := complete(300, "80")
		edit(&v)
		return v
	}
	left := func(right, left string) visit {
		return edited(func(v *visit) { v.ER, v.IR, v.LeftER, v.LeftIR = all(right), all(right), all(left), all(left) })
	}
	three := func(x string) string { return x + " " + x + " " + x }
	tests := []struct {
		name   string
		visits []visit
		ask    Ask
		why    Why
		step   readiness.Step // of external rotation
	}{
		{
			"a trial of 130 N beside two of 80", []visit{edited(func(v *visit) { v.ER[1] = "80 80 130" })},
			AskStrength, WhyTrialsDisagree, readiness.StepFlexion90Supported,
		},
		{
			"two trials of 60 and 100 N", []visit{edited(func(v *visit) { v.ER[0] = "60 100" })},
			AskStrength, WhyTrialsDisagree, readiness.StepAtSide,
		},
		{
			"indices of 180 %", []visit{left(three("180"), three("100"))},
			AskSides, WhySidesMayBeSwapped, readiness.NoStep,
		},
		{
			"both sides 2.2 times what they were", []visit{complete(286, "80"), left("176.4", "220.5")},
			AskUnit, WhyUnitMayBeWrong, readiness.NoStep,
		},
		{
			"the comparison side 40 % weaker", []visit{complete(286, "55"), left("55", "60")},
			AskComparison, WhyComparisonDeclined, readiness.StepAbduction90Supported,
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := shouldertest.Episode(tt.visits...)
			p := planned(e)
			if len(p.Requests) == 0 || p.Requests[0].Ask != tt.ask || p.Requests[0].Why != tt.why || !p.Requests[0].First {
				t.Fatalf("requests %+v, want %v because of %v first", p.Requests, tt.ask, tt.why)
			}
			if got := purposes(p); slices.Contains(got, BeginFunction) || slices.Contains(got, FullFunction) {
				t.Errorf("exercises %v, want no functional work", got)
			}
			if step := judged(e).Motions[0].Step; step != tt.step {
				t.Errorf("step = %v, want %v", step, tt.step)
			}
		})
	}
}
