package course

import (
	"cmp"
	"time"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Call says what the changes of the involved side's strength and of the index come to,
// by the probability that the true change is below zero. What was measured has to have
// changed the same way. A fall that the detectable change calls sure, for all tests that
// are compared or by a loss of the side, stays a decline: it may be a red flag, of which
// a model that follows slowly must not make less.
func (c *Course) Call(changes []measure.Change, involved shoulder.Side, p *protocol.Protocol) {
	if c == nil {
		return
	}
	for i := range changes {
		k := &changes[i]
		strength := k.Subject == measure.StrengthChange && k.Side == involved
		if !strength && k.Subject != measure.SymmetryChange {
			continue
		}
		of := c.changeSince(k.Setting, k.FromWhen)
		if of == nil || k.Direction == measure.Declined {
			continue
		}
		below := of.Index.Below
		if strength {
			below = of.Strength.Below
		}
		k.Direction = direction(below, k.Difference.Sign(), p)
	}
}

// Word is what a change of strength comes to, as Call says it.
func (k *Change) Word(p *protocol.Protocol) measure.Direction {
	return direction(k.Strength.Below, cmp.Compare(k.Rise, 0), p)
}

// changeSince is the change of a test since a day, nil if it is none of those that are
// followed.
func (c *Course) changeSince(s measure.Setting, when time.Time) *Change {
	t := c.Find(s)
	if t == nil {
		return nil
	}
	for _, of := range [...]*Change{&t.Last, &t.First} {
		if of.Known && measure.DaysBetween(c.Start, when) == of.Day {
			return of
		}
	}
	return nil
}

// direction is what a change comes to that is below zero with a probability, and of
// which the measurement has a sign.
func direction(below float64, sign int, p *protocol.Protocol) measure.Direction {
	sure, probable := p.Certainty.Clear.Value.Float64(), p.Certainty.Probable.Value.Float64()
	switch percent := 100 * below; {
	case sign < 0 && percent >= sure:
		return measure.Declined
	case sign > 0 && 100-percent >= sure:
		return measure.Improved
	case sign < 0 && percent >= probable:
		return measure.PossiblyDeclined
	case sign > 0 && 100-percent >= probable:
		return measure.PossiblyImproved
	}
	return measure.Unchanged
}
