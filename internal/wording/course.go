package wording

import (
	"cmp"
	"strconv"
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Change is a difference, its verdict, and the values: a sentence. The thresholds are
// those with which an index is compared.
func (c *Catalogue) Change(k *measure.Change, thresholds ...protocol.Threshold) string {
	return c.sentence(c.phrases.change, c.subject(k), c.ChangeBrief(k), c.changed(k, thresholds))
}

// ChangeBrief is a difference, the smallest one that counts, and the verdict: "+8.0 N
// (+10.0 %) since 2026-01-05 (MDC 23.2 N), within measurement error".
func (c *Catalogue) ChangeBrief(k *measure.Change) string {
	difference, detectable, unit := c.difference(k)
	difference, detectable = c.differenceIn(difference, unit), c.differenceIn(detectable, unit)
	if k.Percent != nil {
		percent := c.inUnit(signed(k.Percent.Text(strengthPlaces)), "%")
		difference = c.fill(c.phrases.withReason, difference, percent)
	}
	since, counts := c.phrases.since, c.phrases.detectable
	if k.Against == measure.Baseline {
		since = c.phrases.sinceFirst
	}
	if k.Subject == measure.PainChange || k.Subject == measure.OutcomeChange {
		counts = c.phrases.matters
	}
	brief := c.fill(c.phrases.changeBrief, difference, c.fill(since, c.Date(k.FromWhen)), c.fill(counts, detectable), c.directionOf(k))
	if k.Important {
		brief += c.phrases.listJoin + c.fill(c.phrases.important, c.differenceThreshold(*k.Outcome.Important))
	}
	return brief
}

// directionOf is the verdict on a change. Pain has words of its own, because less is
// better.
func (c *Catalogue) directionOf(k *measure.Change) string {
	switch {
	case k.Subject == measure.PainChange && k.Direction == measure.Improved:
		return c.phrases.painBetter
	case k.Subject == measure.PainChange && k.Direction == measure.Declined:
		return c.phrases.painWorse
	}
	return c.Direction(k.Direction)
}

// difference writes a difference with its sign and the smallest one that counts,
// both in the unit.
func (c *Catalogue) difference(k *measure.Change) (difference, detectable, unit string) {
	shown, unit := c.shown(k.Difference, k.Unit)
	difference, detectable = differenceClearOf(shown, c.shownEstimate(k.Detectable, k.Unit), places(shown, unit))
	return difference, detectable, unit
}

// ChangeOf is a change in brief with the side that changed: "right: +8.0 N ...".
func (c *Catalogue) ChangeOf(k *measure.Change) string {
	return c.fill(c.phrases.labelled, c.Side(k.Side), c.ChangeBrief(k))
}

// MeasuredOn says when something was measured.
func (c *Catalogue) MeasuredOn(t time.Time) string { return c.fill(c.phrases.measuredOn, c.Date(t)) }

// changed is "from 80.0 N to 88.0 N".
func (c *Catalogue) changed(k *measure.Change, thresholds []protocol.Threshold) string {
	from, to := c.Quantity(k.From, k.Unit), c.Quantity(k.To, k.Unit)
	if k.Subject == measure.SymmetryChange {
		from = c.inUnit(c.Index(k.From, thresholds...), k.Unit)
		to = c.inUnit(c.Index(k.To, thresholds...), k.Unit)
	}
	return c.fill(c.phrases.fromTo, from, to)
}

// subject names what changed.
func (c *Catalogue) subject(k *measure.Change) string {
	switch k.Subject {
	case measure.SymmetryChange:
		return c.fill(c.phrases.indexSubject, c.MotionAt(k.Setting.Motion, k.Setting.Position))
	case measure.RangeChange:
		return c.fill(c.phrases.ofSide, c.RangeOf(k.Movement, k.Active, k.Position), c.Side(k.Side))
	case measure.PainChange:
		return c.PainOf(k.Context, k.Position)
	case measure.OutcomeChange:
		return c.Outcome(k.Outcome)
	}
	return c.fill(c.phrases.ofSide, c.MotionAt(k.Setting.Motion, k.Setting.Position), c.Side(k.Side))
}

// RangeOf names a range of motion: "active flexion".
func (c *Catalogue) RangeOf(m shoulder.Movement, active bool, p shoulder.ArmPosition) string {
	phrase := c.phrases.rangePassive
	if active {
		phrase = c.phrases.rangeActive
	}
	name := c.fill(phrase, c.Movement(m))
	if p == shoulder.PositionUnstated {
		return name
	}
	return c.fill(c.phrases.inPosition, name, c.at(p))
}

// PainOf names a pain score: "pain during the resisted test".
func (c *Catalogue) PainOf(k shoulder.PainContext, p shoulder.ArmPosition) string {
	if p == shoulder.PositionUnstated {
		return c.PainContext(k)
	}
	return c.fill(c.phrases.inPosition, c.PainContext(k), c.at(p))
}

// Range is how far a movement goes on the involved side and, if it is not
// nil, on the comparison side: a phrase.
func (c *Catalogue) Range(r, comparison *measure.RangeScore) string {
	line := c.fill(c.phrases.rangeOn, c.RangeOf(r.Movement, r.Active, r.Position), c.Date(r.When),
		c.fill(c.phrases.sideValue, c.Side(r.Side), c.Quantity(r.Degrees, "deg")))
	if comparison == nil {
		return line
	}
	other := c.fill(c.phrases.sideValue, c.Side(comparison.Side), c.Quantity(comparison.Degrees, "deg"))
	return line + c.phrases.listJoin + other
}

// Pain is a pain score: a phrase.
func (c *Catalogue) Pain(p *measure.PainScore) string {
	return c.fill(c.phrases.painOn, c.PainOf(p.Context, p.Position), c.Date(p.When), c.Quantity(p.Score, "{score}"))
}

// RangeNow is a range with its value: a phrase.
func (c *Catalogue) RangeNow(r *measure.RangeScore) string {
	return c.fill(c.phrases.nameValue, c.RangeOf(r.Movement, r.Active, r.Position), c.Quantity(r.Degrees, "deg"))
}

// PainNow is a pain with its value: a phrase.
func (c *Catalogue) PainNow(p *measure.PainScore) string {
	return c.fill(c.phrases.nameValue, c.PainOf(p.Context, p.Position), c.Quantity(p.Score, "{score}"))
}

// PainElsewhere is a pain of the comparison shoulder: a phrase.
func (c *Catalogue) PainElsewhere(p *measure.PainScore, side shoulder.Side) string {
	return c.fill(c.phrases.shoulderOf, c.Side(side), c.PainNow(p))
}

// PainElsewhereIn names a pain of the comparison shoulder, with its scale.
func (c *Catalogue) PainElsewhereIn(p *measure.PainScore, side shoulder.Side) string {
	return c.fill(c.phrases.shoulderOf, c.Side(side), c.PainIn(p))
}

// OnVisit adds the day to a value that was not measured at the visit.
func (c *Catalogue) OnVisit(value string, when, visit time.Time) string {
	if measure.DaysBetween(when, visit) == 0 {
		return value
	}
	return c.fill(c.phrases.valueOn, value, c.Date(when))
}

// RangeAndPain joins ranges and pains: a sentence.
func (c *Catalogue) RangeAndPain(values []string) string {
	return c.sentence(c.phrases.rangeAndPain, c.list(values))
}

// Outcome names an outcome measure, in English if it has no name in the language.
func (c *Catalogue) Outcome(m *protocol.OutcomeMeasure) string {
	if m == nil {
		return ""
	}
	return cmp.Or(m.Title[c.language], m.Title["en"])
}

// OutcomeOn is the value of an outcome measure: a phrase.
func (c *Catalogue) OutcomeOn(s *measure.OutcomeScore) string {
	return c.fill(c.phrases.painOn, c.Outcome(s.Measure), c.Date(s.When), c.onScale(s))
}

// onScale is a value with its unit, or points with the maximum of the scale: "62 of 100".
func (c *Catalogue) onScale(s *measure.OutcomeScore) string {
	if s.Measure.Unit != "{points}" {
		return c.Quantity(s.Value, s.Measure.Unit)
	}
	return c.fill(c.phrases.ofMost, c.figure(s.Value, s.Measure.Unit), c.figure(s.Measure.Maximum, s.Measure.Unit))
}

// Prospect is what the course of a test says about evenness, of which nothing is seen before
// the re-check: a sentence.
func (c *Catalogue) Prospect(k *course.Course, t *course.TestCourse, recheck plan.Window) string {
	return c.sentence(c.phrases.trend, c.MotionAt(t.Motion, t.Position), strconv.Itoa(t.Sessions), c.prospect(k, t, recheck))
}

func (c *Catalogue) prospect(k *course.Course, t *course.TestCourse, recheck plan.Window) string {
	o := &t.Outlook
	switch o.Prospect {
	case course.Forecast:
		return c.forecast(c.phrases.forecast, c.phrases.forecastSoon, recheck.Forecast(k, o))
	case course.Levelling:
		whole := func(x float64) string { return c.localised(estimate(x, 0, 0)) }
		return c.fill(c.phrases.levelling, c.inUnit(whole(o.Plateau), "%"), whole(o.Low), whole(o.High))
	}
	return term(c.terms.outlook, o.Prospect)
}

// forecast says the day of a forecast with the ends of its interval, or in another phrase
// that it is the re-check.
func (c *Catalogue) forecast(by, soon string, f plan.Forecast) string {
	if f.AtRecheck {
		return c.fill(soon, c.Date(f.Date))
	}
	return c.fill(by, c.Date(f.Date), c.Date(f.Earliest), c.Date(f.Latest))
}
