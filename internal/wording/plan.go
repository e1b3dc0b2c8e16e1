package wording

import (
	"strings"

	"evenreach.example/internal/plan"
	"evenreach.example/internal/shoulder"
)

// Exercise is the title of an exercise: "External rotation at 90 degrees of
// flexion, arm supported".
func (c *Catalogue) Exercise(e *plan.Exercise) string { return capital(c.exercise(e)) }

func (c *Catalogue) exercise(e *plan.Exercise) string {
	switch e.Purpose {
	case plan.RestoreRange:
		return fill(c.phrases.exerciseRange, c.Movement(e.Movement))
	case plan.BeginFunction, plan.FullFunction:
		return c.Purpose(e.Purpose)
	}
	title := c.RotationAt(e.Rotation, e.Position)
	if e.Support != shoulder.SupportUnstated {
		title += c.phrases.listJoin + c.Support(e.Support)
	}
	if e.Purpose == plan.Continue {
		title = fill(c.phrases.exerciseGoesOn, title)
	}
	return title
}

// ExerciseDetail is resistance, dose with its source, and set-up of an
// exercise, in sentences.
func (c *Catalogue) ExerciseDetail(e *plan.Exercise) string {
	var detail []string
	if e.Provisional {
		detail = append(detail, c.Sentence(c.phrases.provisional))
	}
	dose := e.Dose.Text
	if e.Mode != plan.NoResistance {
		dose = fill(c.phrases.labelled, c.Mode(e.Mode), dose)
	}
	detail = append(detail, c.Sentence(dose))
	for _, cue := range e.Cues {
		detail = append(detail, c.Cue(cue))
	}
	return strings.Join(append(detail, c.Sentence(fill(c.phrases.doseSource, e.Dose.Source))), " ")
}

// Request is what to measure or find out, and why: a phrase.
func (c *Catalogue) Request(r *plan.Request) string {
	why := c.Why(r.Why)
	if r.Why == plan.WhyNotAlike {
		why = c.Mismatch(r.Mismatch)
	}
	what := fill(term(c.terms.ask, r.Ask), c.Rotation(r.Rotation), c.at(r.Position), c.Movement(r.Movement))
	return fill(c.phrases.withReason, what, why)
}

// Goal is what to aim at, by when, and how it stands: a phrase.
func (c *Catalogue) Goal(g *plan.Goal) string {
	targets := make([]string, len(g.Targets))
	for i := range g.Targets {
		targets[i] = c.Target(&g.Targets[i])
	}
	aim := fill(term(c.terms.aim, g.Aim), c.Rotation(g.Rotation))
	return fill(c.phrases.goal, aim, strings.Join(targets, c.phrases.partJoin), c.Date(g.Due), c.Achievement(g.Achievement))
}

// Target is one measurable part of a goal: "limb symmetry index at least 75 %
// at 90 degrees of flexion (now 68.8 %)".
func (c *Catalogue) Target(t *plan.Target) string {
	threshold := t.Threshold
	threshold.Value, threshold.Unit = t.Value, t.Unit
	wanted := c.Threshold(threshold)
	if t.Unit == "deg" {
		wanted = c.threshold(threshold, roundedUp(t.Value, places(t.Value, t.Unit)))
	}
	now := c.phrases.notMeasured
	if t.Current != nil {
		now = c.Quantity(*t.Current, t.Unit, t.Value)
	}
	return fill(c.phrases.now, c.target(t, wanted), now)
}

func (c *Catalogue) target(t *plan.Target, wanted string) string {
	switch {
	case t.Movement != shoulder.MovementUnknown:
		return fill(c.phrases.targetRange, c.Movement(t.Movement), wanted)
	case t.Position != shoulder.PositionUnstated:
		return fill(c.phrases.targetIndex, wanted, c.at(t.Position))
	}
	return fill(c.phrases.targetPain, wanted)
}
