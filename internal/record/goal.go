package record

import (
	"slices"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/shoulder"
)

var physiotherapy = []fhir.CodeableConcept{hl7(fhir.SystemGoalCategory, "physiotherapy")}

// achievements are the displays of FHIR's codes.
var achievements = [...]fhir.CodeableConcept{
	plan.InProgress: hl7(fhir.SystemGoalAchievement, plan.InProgress.String()),
	plan.Improving:  hl7(fhir.SystemGoalAchievement, plan.Improving.String()),
	plan.Worsening:  hl7(fhir.SystemGoalAchievement, plan.Worsening.String()),
	plan.NoChange:   hl7(fhir.SystemGoalAchievement, plan.NoChange.String()),
	plan.Achieved:   hl7(fhir.SystemGoalAchievement, plan.Achieved.String()),
}

// addGoals adds the goals, all of them proposed: a clinician accepts them.
func (b *builder) addGoals() {
	goals := b.a.Plan.Goals
	b.goals = make([]fhir.Reference, len(goals))
	before := len(b.identifiers)
	for i := range goals {
		b.goals[i] = b.addGoal(&goals[i])
	}
	b.goalIDs = b.identifiers[before:]
}

func (b *builder) addGoal(g *plan.Goal) fhir.Reference {
	text := b.w.Goal(g)
	goal := &fhir.Goal{
		LifecycleStatus:   "proposed",
		AchievementStatus: &achievements[g.Achievement],
		Category:          physiotherapy,
		Description:       *b.own(g.Aim.String(), text),
		Subject:           b.subject,
		StartDate:         b.date(b.a.AsOf),
		Target:            make([]fhir.Target, len(g.Targets)),
		Addresses:         b.rewriter.references(b.r.Addresses, "Condition"),
		OutcomeReference:  b.outcomes(g),
	}
	for i := range g.Targets {
		goal.Target[i] = b.target(g, &g.Targets[i])
	}
	return b.add(goal, &goal.Common, b.goalKey(g))
}

// target is one measure with the value to reach. The quantity has no
// comparator, because in FHIR that speaks of a measurement's limits, not of a
// goal; the description says at least or at most.
func (b *builder) target(g *plan.Goal, t *plan.Target) fhir.Target {
	measure := measureOf(g, t)
	measure.Text = b.w.Target(t)
	target := fhir.Target{Measure: &measure, Detail: b.quantity(t.Value.String(), t.Unit)}
	if !g.Due.IsZero() {
		target.DueDate = b.date(g.Due)
	}
	return target
}

func measureOf(g *plan.Goal, t *plan.Target) fhir.CodeableConcept {
	switch g.Aim {
	case plan.AimRange:
		return rangeConcept(t.Movement, true)
	case plan.AimPain:
		return painScore
	}
	return computed[fhir.CodeLimbSymmetryIndex]
}

// outcomes are references to the present values of the goal's measures.
func (b *builder) outcomes(g *plan.Goal) (references []fhir.Reference) {
	switch g.Aim {
	case plan.AimPain:
		return b.inputs.measured(g.Sources)
	case plan.AimRange:
		for _, p := range shoulder.TrainedPositions {
			if p.Elevated() && p.Elevation() == g.Targets[0].Movement {
				references = appendKnown(references, b.ranges[p])
			}
		}
		return references
	}
	for i := range g.Targets {
		references = appendKnown(references, b.indices[g.Motion][g.Targets[i].Position])
	}
	return references
}

// appendKnown appends the references that are not empty.
func appendKnown(references []fhir.Reference, results ...fhir.Reference) []fhir.Reference {
	references = slices.Grow(references, len(results))
	for _, r := range results {
		if r.Reference != "" {
			references = append(references, r)
		}
	}
	return references
}

// goalKey distinguishes the goals of one plan: only range goals can have the same aim and
// rotation.
func (b *builder) goalKey(g *plan.Goal) string {
	movement := shoulder.MovementUnknown
	if len(g.Targets) > 0 {
		movement = g.Targets[0].Movement
	}
	return b.join("goal/", g.Aim.String(), "/", g.Motion.String(), "/", movement.String())
}
