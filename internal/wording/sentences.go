package wording

import (
	"time"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// Criterion says what was needed and what was measured.
func (c *Catalogue) Criterion(k *readiness.Criterion, r shoulder.Rotation, s shoulder.Side) string {
	return ""
}

// Symmetry is a limb symmetry index with its interval and how it was measured.
func (c *Catalogue) Symmetry(s *measure.Symmetry) string { return "" }

// Unpaired says why a score could not be compared with the other side.
func (c *Catalogue) Unpaired(u *measure.Unpaired) string { return "" }

// Change is a difference and what it comes to.
func (c *Catalogue) Change(k *measure.Change) string { return "" }

// Trend is a course over time, and its extrapolation.
func (c *Catalogue) Trend(t *measure.Trend) string { return "" }

// Ratio is an external to internal rotation ratio beside its band.
func (c *Catalogue) Ratio(r *measure.Ratio) string { return "" }

// Exercise is the title of an exercise.
func (c *Catalogue) Exercise(e *plan.Exercise) string { return "" }

// ExerciseDetail is the set-up, resistance and dose of an exercise.
func (c *Catalogue) ExerciseDetail(e *plan.Exercise) string { return "" }

// Request is what to measure or find out, and why.
func (c *Catalogue) Request(r *plan.Request) string { return "" }

// Goal is what to aim at and by when.
func (c *Catalogue) Goal(g *plan.Goal) string { return "" }

// Target is one measurable part of a goal.
func (c *Catalogue) Target(t *plan.Target) string { return "" }

// Conclusion is the decision, then why, then what next, in plain text.
func (c *Catalogue) Conclusion(a *assess.Assessment) string { return "" }

// Number writes a number to so many decimal places.
func (c *Catalogue) Number(n exact.Number, places int) string { return n.Text(places) }

// Index writes an index to one decimal place, or to as many as it takes not
// to print it across the threshold.
func (c *Catalogue) Index(n exact.Number, t protocol.Threshold) string {
	return n.TextBeside(t.Value, 1)
}

// Date is the calendar day in the time's own offset: 2026-03-02.
func (c *Catalogue) Date(t time.Time) string { return t.Format(time.DateOnly) }
