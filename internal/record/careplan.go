package record

import (
	"slices"
	"time"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/shoulder"
)

// planCategories: US Core before version 9 asks for its own category beside
// the standard ones.
var planCategories = []fhir.CodeableConcept{
	standard(fhir.SystemSNOMED, fhir.SNOMEDCarePlan, "Care plan (record artifact)"),
	standard(fhir.SystemSNOMED, fhir.SNOMEDRehabilitationPlan, "Rehabilitation care plan (record artifact)"),
	standard(fhir.SystemUSCoreCarePlan, "assess-plan", "Assessment and Plan of Treatment"),
}

// carePlanKey is the key of the plan, of which a shoulder has one.
const carePlanKey = "care-plan"

// addCarePlan adds the proposed plan until the re-check. It is a draft and a
// proposal, because a clinician decides.
func (b *builder) addCarePlan() {
	proposed := b.a.Plan
	c := &fhir.CarePlan{
		InstantiatesCanonical: []string{b.protocolCanonical()},
		Status:                "draft",
		Intent:                "proposal",
		Category:              planCategories,
		Title:                 b.w.Translated(b.a.Protocol.Title),
		Description:           b.w.Status(b.a.Readiness),
		Subject:               b.subject,
		Encounter:             b.encounter,
		Period:                b.period(b.a.AsOf, proposed.Recheck.To),
		Created:               b.dateTime(b.a.AsOf),
		Author:                b.device,
		Addresses:             b.rewriter.references(b.r.Addresses, "Condition"),
		SupportingInfo:        b.supporting(),
		Goal:                  b.goalsOf(func(*plan.Goal) bool { return true }),
		Activity:              make([]fhir.Activity, 0, len(proposed.Exercises)+len(proposed.Requests)),
		Note:                  b.cautions(),
	}
	c.Language = b.w.Language()
	c.Text = generated(b.report.PlanNarrative())
	for i := range proposed.Exercises {
		c.Activity = append(c.Activity, b.exercise(&proposed.Exercises[i]))
	}
	for i := range proposed.Requests {
		c.Activity = append(c.Activity, b.request(&proposed.Requests[i]))
	}
	b.add(c, &c.Common, carePlanKey)
	c.Replaces = b.replacedPlans()
}

// protocolCanonical is the PlanDefinition of the protocol, with its version.
func (b *builder) protocolCanonical() string {
	return fhir.CanonicalPlanDefinition + b.a.Protocol.ID + "|" + b.a.Protocol.Version
}

// supporting are references to the basis of the plan: the red flags, the overall status,
// which refers to the other results, and the inputs about a repair.
func (b *builder) supporting() []fhir.Reference {
	tissue := &b.a.Readiness.Tissue.Criterion
	references := append(slices.Clip(b.flags), b.overall)
	b.inputs.round++
	for _, id := range tissue.Sources {
		if b.inputs.markListed(id) {
			references = append(references, b.inputs.references[id])
		}
	}
	return references
}

// activity is a proposed service that has not started, with the results that are the
// reason for it and its goals.
func (b *builder) activity(code *fhir.CodeableConcept, description string, from, to time.Time, reasons ...fhir.Reference) *fhir.ActivityDetail {
	return &fhir.ActivityDetail{
		Kind:            "ServiceRequest",
		Code:            code,
		ReasonReference: reasons,
		Status:          "not-started",
		ScheduledPeriod: b.period(from, to),
		Description:     description,
	}
}

func (b *builder) exercise(e *plan.Exercise) fhir.Activity {
	detail := b.activity(exerciseConcept(e, b.w.Exercise(e)), b.w.ExerciseDetail(e), b.a.AsOf, b.a.Plan.Recheck.To, b.readinessOf(e.Motion))
	detail.Goal = b.goalsOf(func(g *plan.Goal) bool {
		switch e.Purpose {
		case plan.Strengthen, plan.Continue:
			return g.Motion == e.Motion
		case plan.RestoreRange:
			return aimsAtRange(g, e.Movement)
		}
		return false
	})
	return fhir.Activity{Detail: detail}
}

// exerciseConcept is the nearest standard code with the project's own code of the purpose,
// because no open code system has isometric, range-of-motion or functional exercise.
func exerciseConcept(e *plan.Exercise, text string) *fhir.CodeableConcept {
	nearest := fhir.Coding{System: fhir.SystemSNOMED, Code: fhir.SNOMEDMuscleStrengthening, Display: "Muscle strength exercise (regime/therapy)"}
	if e.Purpose != plan.Strengthen && e.Purpose != plan.Continue {
		nearest.Code, nearest.Display = fhir.SNOMEDExerciseTherapy, "Exercise therapy (regime/therapy)"
	}
	ours := fhir.Coding{System: fhir.SystemShoulder, Code: e.Purpose.String()}
	return &fhir.CodeableConcept{Coding: []fhir.Coding{nearest, ours}, Text: text}
}

func (b *builder) request(r *plan.Request) fhir.Activity {
	text := b.w.Request(r)
	detail := b.activity(requestConcept(r, text), "", r.When.From, r.When.To, b.reasonOf(r)...)
	detail.Goal = b.goalsOf(func(g *plan.Goal) bool {
		switch r.Ask {
		case plan.AskStrength:
			return g.Motion == r.Motion
		case plan.AskRange:
			return aimsAtRange(g, r.Movement)
		case plan.AskPain:
			return g.Aim == plan.AimPain
		}
		return false
	})
	return fhir.Activity{Detail: detail}
}

// requestConcept is the code of the measurement that is asked for, or the project's own
// code of another request.
func requestConcept(r *plan.Request, text string) *fhir.CodeableConcept {
	c := &fhir.CodeableConcept{Text: text}
	asked := fhir.Coding{System: fhir.SystemShoulder, Code: r.Ask.String()}
	evaluated := fhir.Coding{System: fhir.SystemSNOMED, Code: fhir.SNOMEDEvaluation, Display: "Evaluation procedure (procedure)"}
	switch r.Ask {
	case plan.AskStrength:
		c.Coding = []fhir.Coding{
			{System: fhir.SystemShoulder, Code: fhir.CodesOf(r.Motion).Strength},
			evaluated,
		}
	case plan.AskRange:
		c.Coding = []fhir.Coding{
			rangeConcept(r.Movement, true).Coding[0],
			{System: fhir.SystemSNOMED, Code: fhir.SNOMEDActiveRangeAssessment, Display: "Assessment of active range of motion (procedure)"},
		}
	case plan.AskPassive:
		c.Coding = []fhir.Coding{rangeConcept(r.Movement, false).Coding[0], asked}
	case plan.AskPain:
		c.Coding = painScore.Coding
	case plan.AskOutcome:
		c.Coding = []fhir.Coding{outcomeConcept(r.Outcome).Coding[0], asked}
	case plan.AskSteadiness:
		c.Coding = []fhir.Coding{{System: fhir.SystemShoulder, Code: fhir.CodeArmHeldSteady}}
	case plan.AskClearance:
		c.Coding = []fhir.Coding{{System: fhir.SystemShoulder, Code: fhir.CodeResistedClearance}}
	case plan.AskExamination, plan.AskComparison, plan.AskComplete:
		c.Coding = []fhir.Coding{asked, evaluated}
	case plan.AskRestPain, plan.AskWorstPain:
		c.Coding = []fhir.Coding{painScore.Coding[0], asked}
	case plan.AskSurgeon, plan.AskSides, plan.AskUnit, plan.AskRecord:
		c.Coding = []fhir.Coding{asked}
	case plan.AskRepairDate:
		c.Coding = []fhir.Coding{{System: fhir.SystemSNOMED, Code: fhir.SNOMEDCuffRepair, Display: "Repair of musculotendinous cuff of shoulder (procedure)"}}
	}
	return c
}

// readinessOf is a reference to the readiness of a trained motion, or else to the overall
// status.
func (b *builder) readinessOf(r shoulder.Motion) fhir.Reference {
	if i := slices.Index(shoulder.Trained, r); i >= 0 {
		return b.motion[i]
	}
	return b.overall
}

func (b *builder) goalsOf(serves func(*plan.Goal) bool) (references []fhir.Reference) {
	for i := range b.a.Plan.Goals {
		if serves(&b.a.Plan.Goals[i]) {
			references = appendKnown(references, b.goals[i])
		}
	}
	return references
}

func aimsAtRange(g *plan.Goal, m shoulder.Movement) bool {
	return g.Aim == plan.AimRange && len(g.Targets) > 0 && g.Targets[0].Movement == m
}
