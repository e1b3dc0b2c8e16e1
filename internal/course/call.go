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
// that merely stays as it is. So a rise is clear only if the measurements alone show it as
// well, each test by its detectable change or all tests since that day together; and probable
// only if they make it so.
//
// A test that falls is promised no evenness.
func (c *Course) Call(m *measure.Measurements, involved shoulder.Side, p *protocol.Protocol) {
	if c == nil {
		return
	}
	groups := map[group][]*measure.Change{}
	for i := range m.Changes {
		k := &m.Changes[i]
		if k.Subject == measure.StrengthChange && k.Side == involved || k.Subject == measure.SymmetryChange {
			of := group{k.Subject, k.FromWhen, k.ToWhen}
			groups[of] = append(groups[of], k)
		}
	}
	for _, of := range groups {
		c.callGroup(of, measure.Together(of, p), p)
	}
	c.promiseNothing(m, involved, p)
}

// group is what is looked at together: the changes of all tests between two days.
type group struct {
	subject  measure.Subject
	from, to time.Time
}

// callGroup calls the changes of a group, whose mean is so many standard errors.
func (c *Course) callGroup(changes []*measure.Change, together float64, p *protocol.Protocol) {
	for _, k := range changes {
		of := c.changeSince(k.Setting, k.FromWhen)
		if of == nil || k.Direction == measure.Declined {
			continue
		}
		below := of.Index.Below
		if k.Subject == measure.StrengthChange {
			below = of.Strength.Below
		}
		k.Direction = direction(below, k, together, p)
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
// sessions show it; together is the mean of all tests in standard errors, as measured.
func direction(below float64, k *measure.Change, together float64, p *protocol.Protocol) measure.Direction {
	sure, probable := p.Certainty.Clear.Value.Float64(), p.Certainty.Probable.Value.Float64()
	if k.Difference.Sign() < 0 {
		return fallen(below, p)
	}
	detectable := k.Direction == measure.Improved
	measured := detectable || together >= measure.Detectable(p)
	switch above := 100 * (1 - below); {
	case k.Difference.Sign() == 0:
		return measure.Unchanged
	case measured && above >= sure:
		return measure.Improved
	case detectable, above >= probable && (measured || probableAlone(k, together, p)):
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

// probableAlone reports whether a rise is probable by the measurements, without anything
// that is expected of a course.
func probableAlone(k *measure.Change, together float64, p *protocol.Protocol) bool {
	z := measure.OneSided(1 - p.Certainty.Probable.Value.Float64()/100)
	return together >= z || k.Difference.Float64() >= z*k.Detectable/measure.Detectable(p)
}
