package wording

import (
	"strconv"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Figures are the numbers of a change, without their unit.
type Figures struct {
	From, To, Difference, Detectable string
}

// Figures writes the numbers of a change. The thresholds are those with which an index is
// compared.
func (c *Catalogue) Figures(k *measure.Change, thresholds ...protocol.Threshold) Figures {
	difference, detectable, _ := c.difference(k)
	f := Figures{
		From: c.figure(k.From, k.Unit), To: c.figure(k.To, k.Unit),
		Difference: c.localised(difference), Detectable: c.localised(detectable),
	}
	if k.Subject == measure.SymmetryChange {
		f.From, f.To = c.Index(k.From, thresholds...), c.Index(k.To, thresholds...)
	}
	return f
}

// figure writes a value without its unit.
func (c *Catalogue) figure(n exact.Number, ucum string) string {
	n, unit := c.shown(n, ucum)
	return c.localised(n.Text(places(n, unit)))
}

// StrengthFigure writes a strength without its unit.
func (c *Catalogue) StrengthFigure(s *measure.Score) string {
	return c.figure(s.Value, s.Dimension.Unit())
}

// RangeFigure writes a range of motion without its unit.
func (c *Catalogue) RangeFigure(r *measure.RangeScore) string { return c.figure(r.Degrees, "deg") }

// PainFigure writes a pain score without its unit.
func (c *Catalogue) PainFigure(p *measure.PainScore) string { return c.figure(p.Score, "{score}") }

// StrengthIn names the strength in a position with its unit: "at the side, N".
func (c *Catalogue) StrengthIn(p shoulder.ArmPosition, d shoulder.Dimension) string {
	_, unit := c.shown(exact.Number{}, d.Unit())
	return c.fill(c.phrases.measureIn, c.PositionShort(p), c.Unit(unit))
}

// IndexIn names the index in a position with its unit.
func (c *Catalogue) IndexIn(p shoulder.ArmPosition) string {
	return c.fill(c.phrases.indexIn, c.PositionShort(p), c.Unit("%"))
}

// RangeIn names a range of motion with its unit.
func (c *Catalogue) RangeIn(r *measure.RangeScore) string {
	return c.fill(c.phrases.measureIn, c.RangeOf(r.Movement, r.Active, r.Position), c.Unit("deg"))
}

// PainIn names a pain score with its unit.
func (c *Catalogue) PainIn(p *measure.PainScore) string {
	return c.fill(c.phrases.measureIn, c.PainOf(p.Context, p.Position), c.Unit("{score}"))
}

// OutcomeFigure writes the value of an outcome measure without its unit.
func (c *Catalogue) OutcomeFigure(s *measure.OutcomeScore) string {
	return c.figure(s.Value, s.Measure.Unit)
}

// OutcomeIn names an outcome measure with its unit.
func (c *Catalogue) OutcomeIn(s *measure.OutcomeScore) string {
	return c.fill(c.phrases.measureIn, c.Outcome(s.Measure), c.Unit(s.Measure.Unit))
}

// shownVisits is how many visits a note names: the first, and the last of them.
const shownVisits = 12

// Visits is the number of visits and their days: a sentence. Of many it lists the first
// and the last ones.
func (c *Catalogue) Visits(days []time.Time) string {
	dates := make([]string, len(days))
	for i, day := range days {
		dates[i] = c.Date(day)
	}
	number := strconv.Itoa(len(days))
	if len(days) <= shownVisits {
		return c.sentence(c.phrases.visits, number, c.list(dates))
	}
	left := len(days) - shownVisits
	return c.sentence(c.phrases.visitsMore, number, dates[0], strconv.Itoa(left), c.list(dates[left+1:]))
}

// SignHere is the line to sign, a sentence.
func (c *Catalogue) SignHere() string {
	const room = "______________________________"
	return Capital(c.fill(c.phrases.signHere, room))
}

// DirectionShort is the verdict on a change in a word or two.
func (c *Catalogue) DirectionShort(d measure.Direction) string {
	return term(c.terms.directionShort, d)
}

// FirstMeasured says that there is nothing to compare with yet.
func (c *Catalogue) FirstMeasured() string { return c.phrases.firstMeasured }

// NotMeasured stands for a value that is missing.
func (c *Catalogue) NotMeasured() string { return c.phrases.notMeasured }
