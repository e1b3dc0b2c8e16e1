package course

import (
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
//
// The model expects a weak shoulder to recover, so that it would call a shoulder better
// that merely stays as it is. So a rise is clear only if it is larger than the detectable
// change as well, and probable only if both measurements alone make it so.
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
		k.Direction = direction(below, k, p)
	}
}

// Word is what a change of strength since a day comes to that no measured change begins on,
// such as that of the best strength: a fall as Call says it, and no rise, which two
// measurements have to show.
func (k *Change) Word(p *protocol.Protocol) measure.Direction {
	if k.Rise < 0 {
		return fallen(k.Strength.Below, p)
	}
	return measure.Unchanged
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

// direction is what a change comes to that is below zero with a probability, as all
// sessions show it.
func direction(below float64, k *measure.Change, p *protocol.Protocol) measure.Direction {
	sure, probable := p.Certainty.Clear.Value.Float64(), p.Certainty.Probable.Value.Float64()
	if k.Difference.Sign() < 0 {
		return fallen(below, p)
	}
	detectable := k.Direction == measure.Improved
	switch above := 100 * (1 - below); {
	case k.Difference.Sign() == 0:
		return measure.Unchanged
	case detectable && above >= sure:
		return measure.Improved
	case detectable, above >= probable && probableAlone(k, p):
		return measure.PossiblyImproved
	}
	return measure.Unchanged
}

// fallen is what a fall comes to that is true with a probability.
func fallen(below float64, p *protocol.Protocol) measure.Direction {
	switch percent := 100 * below; {
	case percent >= p.Certainty.Clear.Value.Float64():
		return measure.Declined
	case percent >= p.Certainty.Probable.Value.Float64():
		return measure.PossiblyDeclined
	}
	return measure.Unchanged
}

// probableAlone reports whether a rise is probable by the two measurements, without
// anything that is expected of a course.
func probableAlone(k *measure.Change, p *protocol.Protocol) bool {
	z := measure.OneSided(1 - p.Certainty.Probable.Value.Float64()/100)
	return k.Difference.Float64() >= z*k.Detectable/measure.Detectable(p)
}
