package wording

import (
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// Criterion is a phrase (see Sentence) with what was needed and measured, and the verdict in
// the words of its certainty: "external rotation at 90 degrees of abduction needs 96.0 N on the left;
// measured 88.0 N ...". The rotation is the one whose readiness is judged, the side the
// involved one.
func (c *Catalogue) Criterion(k *readiness.Criterion, r shoulder.Motion, s shoulder.Side) string {
	switch k.Rule {
	case readiness.TissueHealed:
		return c.repair(k)
	case readiness.PainAcceptable:
		return c.judged(k, c.pain(k))
	case readiness.RangeOpen, readiness.RangeMinimum:
		return c.judged(k, c.activeRange(k, s))
	case readiness.ArmSteady:
		return c.steadiness(k)
	case readiness.EvenConfirmed:
		return c.confirmation(k, r, s)
	case readiness.LoadPermitted, readiness.FunctionPermitted:
		return c.load(k)
	case readiness.AllMeasured:
		return c.met(k, c.phrases.allMeasured, c.phrases.allMeasuredNot)
	case readiness.AllEvenProbable:
		return c.allEven(k)
	case readiness.WorstPainKnown:
		return c.met(k, c.phrases.worstKnown, c.phrases.worstMissing)
	case readiness.OtherRotationEven:
		return c.phrases.otherNotEven
	case readiness.OutcomeAcceptable:
		return c.judged(k, c.outcome(k, c.phrases.outcomeGate, c.phrases.outcomeMissing))
	case readiness.OutcomeForFunction:
		return c.outcome(k, c.phrases.lowPain, c.phrases.lowPainMissing)
	case readiness.RestPainLow:
		return c.lowPain(k, shoulder.PainAtRest)
	case readiness.TestPainLow:
		return c.lowPain(k, shoulder.PainDuringResistedTest)
	}
	return c.judged(k, c.strength(k, r, s))
}

// met is one of two phrases.
func (c *Catalogue) met(k *readiness.Criterion, met, not string) string {
	if k.Verdict == readiness.Met {
		return met
	}
	return not
}

// allEven says how likely the sessions before the latest make it that all tests are even.
func (c *Catalogue) allEven(k *readiness.Criterion) string {
	if k.Value == nil {
		return c.phrases.allEvenUnknown
	}
	return c.fill(c.phrases.allEvenLikely, c.Quantity(*k.Value, k.Unit, k.Threshold.Value), c.Threshold(k.Threshold))
}

// lowPain is the pain on an occasion, and the limit for functional work.
func (c *Catalogue) lowPain(k *readiness.Criterion, context shoulder.PainContext) string {
	limit := c.Threshold(k.Threshold)
	if k.Value == nil {
		return c.fill(c.phrases.lowPainMissing, c.PainContext(context), limit)
	}
	return c.fill(c.phrases.lowPain, c.PainContext(context), c.Quantity(*k.Value, k.Unit, k.Threshold.Value), limit)
}

// outcome is the value of an outcome measure, and what is needed.
func (c *Catalogue) outcome(k *readiness.Criterion, phrase, missing string) string {
	name, limit := c.Outcome(k.Outcome), c.Threshold(k.Threshold)
	if k.Value == nil {
		return c.fill(missing, name, limit)
	}
	return c.fill(phrase, name, c.Quantity(*k.Value, k.Unit, k.Threshold.Value), limit)
}

// load says whether the healing of a repair permits load in a position, or functional
// work.
func (c *Catalogue) load(k *readiness.Criterion) string {
	phase := shoulder.NeededAt(k.Position)
	if k.Rule == readiness.FunctionPermitted {
		phase = shoulder.LoadFunctional
	}
	if k.Value == nil {
		return c.withoutWeeks(k, c.fill(c.phrases.loadStated, c.LoadPhase(phase), c.Date(k.When)))
	}
	if k.Verdict == readiness.NotMet && k.Threshold.Met(*k.Value) {
		return c.fill(c.phrases.loadStatedLess, c.LoadPhase(phase), c.Date(k.When))
	}
	return c.fill(c.phrases.loadWeeks, c.LoadPhase(phase), c.Quantity(*k.Value, k.Unit, k.Threshold.Value), c.Threshold(k.Threshold))
}

// withoutWeeks is the text of a criterion that does not depend on the weeks since a
// repair; stated is what a statement permits.
func (c *Catalogue) withoutWeeks(k *readiness.Criterion, stated string) string {
	switch {
	case k.Verdict == readiness.NotApplicable:
		return c.phrases.repairNone
	case k.Verdict == readiness.NotMeasured:
		return c.phrases.repairUndated
	case k.Verdict == readiness.Met:
		return stated
	case k.When.IsZero():
		return c.phrases.refusedUndated
	}
	return c.fill(c.phrases.clearanceRefused, c.Date(k.When))
}

// judged adds the verdict, with its certainty, to a finding that has one.
func (c *Catalogue) judged(k *readiness.Criterion, finding string) string {
	if k.Certainty == measure.NoCertainty {
		return finding
	}
	return c.fill(c.phrases.judged, finding, c.verdictOf(k))
}

// verdictOf is the verdict in the words of its certainty. What is not clear is named by what
// was measured, because that is what counts; so is what was met before.
func (c *Catalogue) verdictOf(k *readiness.Criterion) string {
	switch {
	case k.Basis == readiness.Retained:
		return c.fill(c.phrases.retained, c.index(k), c.Certainty(k.Certainty))
	case k.Verdict == readiness.Met && k.Certainty.Met(), k.Verdict == readiness.NotMet && k.Certainty.Not():
		return c.Certainty(k.Certainty)
	}
	return c.fill(c.phrases.asMeasured, c.Verdict(k.Verdict), c.Certainty(measure.NotClear))
}

// Judgement is the threshold of a criterion and its verdict, without the measured value:
// "at least 75 %: probably met". That of a range is in degrees. That of a
// manual grade says for which purpose the grade is enough.
func (c *Catalogue) Judgement(k *readiness.Criterion) string {
	wanted := c.Threshold(k.Threshold)
	switch {
	case k.Basis == readiness.ManualTest:
		wanted = c.Rule(k.Rule)
	case k.Unit == "deg" && k.Needed != nil:
		inDegrees := k.Threshold
		inDegrees.Unit = k.Unit
		wanted = c.fill(c.phrases.rangeGate, c.threshold(inDegrees, roundedUp(*k.Needed, places(*k.Needed, k.Unit))))
	}
	return c.fill(c.phrases.judgement, wanted, c.verdictOf(k))
}

func (c *Catalogue) strength(k *readiness.Criterion, r shoulder.Motion, s shoulder.Side) string {
	test := c.MotionAt(r, k.Position)
	switch {
	case k.Basis == readiness.ManualTest:
		return c.fill(c.phrases.strengthGrade, test, c.Grade(k.Grade))
	case k.Basis == readiness.Doubted:
		return c.fill(c.phrases.doubtedStrength, test)
	case k.Basis == readiness.TooFaint:
		return c.fill(c.phrases.tooFaint, test)
	case k.Basis == readiness.ChangeFromFirst:
		difference, unit := c.shown(*k.Value, k.Unit)
		return c.fill(c.phrases.changeSinceFirst, test, c.differenceIn(signed(difference.Text(strengthPlaces)), unit), c.Limit(k.Threshold))
	case k.Basis == readiness.NoYardstick && k.Rule == readiness.GoodEnough:
		return c.fill(c.phrases.changeMissing, test, term(c.terms.onSide, s))
	case k.Basis == readiness.NoYardstick:
		return c.fill(c.phrases.noYardstickAt, test)
	case k.Value == nil:
		return c.fill(c.phrases.strengthMissing, test)
	}
	index, threshold := c.index(k), c.Threshold(k.Threshold)
	if k.Needed == nil || k.Measured == nil {
		return c.fill(c.phrases.strengthIndex, test, index, threshold)
	}
	shownMeasured, unit := c.shown(*k.Measured, k.Unit)
	shownNeeded, _ := c.shown(*k.Needed, k.Unit)
	measured, needed := MeasuredAndNeeded(shownMeasured, shownNeeded, strengthPlaces, strengthPlaces)
	return c.fill(c.phrases.strength, test, c.inUnit(needed, unit), term(c.terms.onSide, s),
		c.inUnit(measured, unit), index, threshold)
}

func (c *Catalogue) index(k *readiness.Criterion) string {
	return c.inUnit(roundClearOf(*k.Value, strengthPlaces, k.Threshold.Value), k.Threshold.Unit)
}

// confirmation says that evenness seen once needs another session.
func (c *Catalogue) confirmation(k *readiness.Criterion, r shoulder.Motion, s shoulder.Side) string {
	even := k.Value != nil && k.Threshold.Met(*k.Value)
	switch {
	case even && k.Verdict == readiness.Met:
		return c.fill(c.phrases.evenConfirmed, c.MotionAt(r, k.Position), c.index(k))
	case even && k.Basis == readiness.ComparisonHurts:
		return c.fill(c.phrases.comparisonHurts, c.MotionAt(r, k.Position), c.index(k))
	case even && k.Basis == readiness.ComparisonLow:
		return c.fill(c.phrases.comparisonLow, c.MotionAt(r, k.Position), c.index(k))
	case even && k.Basis == readiness.ComparisonWeaker:
		return c.fill(c.phrases.notSupported, c.MotionAt(r, k.Position), c.index(k))
	case even:
		return c.fill(c.phrases.evenOnce, c.MotionAt(r, k.Position), c.index(k))
	}
	return c.judged(k, c.strength(k, r, s))
}

func (c *Catalogue) pain(k *readiness.Criterion) string {
	at := c.at(k.Position)
	if k.Value == nil {
		return c.fill(c.phrases.painMissing, at)
	}
	phrase := c.phrases.pain
	if k.Basis == readiness.UnstatedPain {
		phrase = c.phrases.painNoContext
	}
	return c.fill(phrase, at, c.Quantity(*k.Value, k.Unit, k.Threshold.Value), c.Threshold(k.Threshold))
}

func (c *Catalogue) activeRange(k *readiness.Criterion, s shoulder.Side) string {
	movement, side := c.Movement(movementAt(k.Position)), term(c.terms.onSide, s)
	switch {
	case k.Needed == nil:
		return c.fill(c.phrases.rangeNotNeeded, c.at(k.Position))
	case k.Measured == nil:
		return c.fill(c.phrases.rangeMissing, movement, c.Quantity(*k.Needed, k.Unit), side)
	}
	measured, needed := MeasuredAndNeeded(*k.Measured, *k.Needed, places(*k.Measured, k.Unit), places(*k.Needed, k.Unit))
	return c.fill(c.phrases.rangeNeeded, movement, c.inUnit(needed, k.Unit), side, c.inUnit(measured, k.Unit))
}

func (c *Catalogue) steadiness(k *readiness.Criterion) string {
	phrase := c.phrases.steadyMissing
	switch k.Verdict {
	case readiness.Met:
		phrase = c.phrases.steady
	case readiness.NotMet:
		phrase = c.phrases.unsteady
	case readiness.NotApplicable:
		phrase = c.phrases.steadyNotNeeded
	}
	return c.fill(phrase, c.at(k.Position))
}

// repair is the time since the cuff was repaired, or what is recorded about clearance.
func (c *Catalogue) repair(k *readiness.Criterion) string {
	if k.Value == nil {
		return c.withoutWeeks(k, c.fill(c.phrases.clearedUndated, c.Date(k.When)))
	}
	weeks := c.Quantity(*k.Value, k.Unit, k.Threshold.Value)
	if k.Verdict == readiness.Met && !k.Threshold.Met(*k.Value) {
		return c.fill(c.phrases.clearedEarly, c.Date(k.When), weeks, c.Threshold(k.Threshold))
	}
	return c.fill(c.phrases.repairWeeks, weeks, c.Threshold(k.Threshold))
}
