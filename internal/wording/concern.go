package wording

import (
	"strconv"

	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// Concerns are what nobody may pass over, with numbers and dates: sentences.
func (c *Catalogue) Concerns(r *readiness.Readiness) (lines []string) {
	for i := range r.Concerns {
		lines = append(lines, c.concern(&r.Concerns[i]))
	}
	return lines
}

func (c *Catalogue) concern(k *readiness.Concern) string {
	then, now := c.Date(k.Then.When), c.Date(k.Now.When)
	switch k.Kind {
	case readiness.WeakElsewhere:
		return c.sentence(c.phrases.weakElsewhere, c.fill(c.phrases.indexSubject, c.MotionAt(k.Index.Motion, k.Index.Position)),
			c.inUnit(c.Index(k.Index.Index), "%"), c.Date(k.Index.When), c.Threshold(k.Limit))
	case readiness.GradeContradicts:
		return c.sentence(c.phrases.gradeDiffers, c.MotionAt(k.Index.Motion, k.Index.Position), c.Grade(k.Grade), now, c.inUnit(c.Index(k.Index.Index), "%"))
	case readiness.ConditionSince:
		return c.sentence(c.phrases.conditionSince, now)
	case readiness.FlagUnexamined:
		return c.sentence(c.phrases.unexamined, c.flag(&k.Flag))
	case readiness.StrengthFell:
		return c.sentence(c.phrases.strengthFell, strconv.Itoa(k.Tests), then, now)
	case readiness.StrengthTooOld:
		return c.sentence(c.phrases.strengthTooOld, now)
	case readiness.BothSidesFell:
		s := k.Fell.Now
		return c.sentence(c.phrases.bothSidesFell, c.fill(c.phrases.ofSide, c.MotionAt(s.Motion, s.Position), c.Side(s.Side)),
			c.score(k.Fell.Then), c.Date(k.Fell.Then.When), c.score(s), c.Date(s.When))
	case readiness.RangeFell:
		return c.sentence(c.phrases.rangeFell, c.RangeOf(k.Movement, true, shoulder.PositionUnstated), c.flagValue(k.Then), then, c.flagValue(k.Now), now)
	case readiness.RangesDisagree:
		return c.sentence(c.phrases.rangesDisagree, c.RangeOf(k.Movement, k.Active, shoulder.PositionUnstated), c.flagValue(k.Now), c.flagValue(k.Then), now)
	case readiness.PassiveUnknown:
		return c.sentence(c.phrases.passiveAsked, c.RangeOf(k.Movement, true, shoulder.PositionUnstated), c.flagValue(k.Now), now, c.RangeOf(k.Movement, false, shoulder.PositionUnstated))
	case readiness.RangesContradict:
		return c.sentence(c.phrases.rangesDiffer, c.RangeOf(k.Movement, true, shoulder.PositionUnstated), c.flagValue(k.Now), now, c.flagValue(k.Then))
	case readiness.ComparisonCannotLift:
		return c.sentence(c.phrases.comparisonLift, c.Side(k.Side), c.RangeOf(k.Movement, true, shoulder.PositionUnstated), c.flagValue(k.Now), now, c.flagValue(k.Then))
	case readiness.SteadinessLost:
		return c.sentence(c.phrases.steadinessLost, c.list(each(k.Positions, c.at)), then, now)
	}
	return c.sentence(c.phrases.comparisonPain, c.Side(k.Side), c.PainContext(k.Context), c.flagValue(k.Now), now, c.Threshold(k.Limit))
}

// Concerns are the same for the patient.
func (p Plain) Concerns(r *readiness.Readiness) (lines []string) {
	for i := range r.Concerns {
		lines = append(lines, p.concern(&r.Concerns[i]))
	}
	return lines
}

func (p Plain) concern(k *readiness.Concern) string {
	then, now := p.c.Date(k.Then.When), p.c.Date(k.Now.When)
	switch k.Kind {
	case readiness.WeakElsewhere:
		return p.c.plain.weakElsewhere
	case readiness.GradeContradicts:
		return p.c.plain.gradeDiffers
	case readiness.ConditionSince:
		return p.c.fill(p.c.plain.newTrouble, now)
	case readiness.FlagUnexamined:
		return p.c.fill(p.c.plain.unexamined, now)
	case readiness.StrengthFell:
		return p.c.fill(p.c.plain.strengthFell, then)
	case readiness.StrengthTooOld:
		return p.c.fill(p.c.plain.oldTest, now)
	case readiness.BothSidesFell:
		return p.c.plain.bothFell
	case readiness.RangeFell:
		return p.c.fill(p.c.plain.rangeFell, term(p.c.plainTerms.movement, k.Movement), p.c.flagValue(k.Then), then, p.c.flagValue(k.Now), now)
	case readiness.PassiveUnknown:
		return p.c.fill(p.c.plain.passiveAsked, term(p.c.plainTerms.movement, k.Movement), p.c.flagValue(k.Now), now)
	case readiness.RangesContradict, readiness.RangesDisagree:
		return p.c.fill(p.c.plain.rangesDiffer, term(p.c.plainTerms.movement, k.Movement), p.c.flagValue(k.Now), p.c.flagValue(k.Then))
	case readiness.ComparisonCannotLift:
		return p.c.fill(p.c.plain.otherLift, p.c.flagValue(k.Now), now)
	case readiness.SteadinessLost:
		return p.c.fill(p.c.plain.steadyLost, p.c.list(each(k.Positions, p.position)))
	}
	return p.c.fill(p.c.plain.otherHurts, p.c.flagValue(k.Now), now)
}

func (p Plain) position(at shoulder.ArmPosition) string { return term(p.c.plainTerms.position, at) }

func each(positions []shoulder.ArmPosition, name func(shoulder.ArmPosition) string) (names []string) {
	for _, p := range positions {
		names = append(names, name(p))
	}
	return names
}
