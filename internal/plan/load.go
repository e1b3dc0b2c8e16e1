package plan

import (
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/shoulder"
)

// Load is a share of the strength that was tested.
type Load struct {
	Force exact.Number   // N
	Of    *measure.Score // the strength
}

// load is the share of a dose of the latest strength of the involved side that is believed
// and may decide. A break test reads higher than what the patient can push, and a torque is
// no force at the hand: neither gives a load.
func (b *builder) load(e *Exercise) *Load {
	if e.Dose.Share == nil {
		return nil
	}
	var of *measure.Score
	for i := len(b.m.Scores) - 1; i >= 0; i-- {
		s := &b.m.Scores[i]
		if of != nil && s.Session != of.Session {
			break
		}
		if b.givesLoad(s) && s.Motion == e.Motion && s.Position == e.Position {
			of = s // the scores of a session begin with the best test
		}
	}
	if of == nil {
		return nil
	}
	force, _ := of.Value.Mul(*e.Dose.Share).Quo(exact.Int(100))
	return &Load{force, of}
}

func (b *builder) givesLoad(s *measure.Score) bool {
	return s.Side == b.episode.Involved && s.Dimension == shoulder.Force && s.Contraction != shoulder.Break &&
		!s.Doubts.Block() && measure.Current(s.When, b.asOf, b.p)
}

// tested reports whether the strength of a motion was measured in a position on the
// involved side, whatever it gives: there is no share of a grade, nor of nothing.
func (b *builder) tested(motion shoulder.Motion, position shoulder.ArmPosition) bool {
	return slices.ContainsFunc(b.m.Scores, func(s measure.Score) bool {
		return s.Side == b.episode.Involved && s.Motion == motion && s.Position == position && measure.Current(s.When, b.asOf, b.p)
	})
}
