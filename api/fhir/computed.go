package fhirapi

import (
	"slices"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// computedProfiles are what results look like.
func computedProfiles() []profile {
	all := []profile{redFlag(), limbSymmetryIndex(), rotationRatio(), rangeFraction()}
	all = append(all, changes()...)
	all = append(all, outcomeChange(), rotationReadiness(), overallReadiness(), demand())
	for i := range all {
		all[i].valueNeeded = true
	}
	all = append(all, rotationCourse(), strengthCourse())
	for i := range all {
		all[i].computed, all[i].sideNeeded = true, true
	}
	return all
}

// The components that say how a strength was tested.
var (
	ofRotation = one(fhir.CodeRotation, codedBy("rotation"))
	// ofMotion is the rotation, or the other motion.
	ofMotion   = []part{may(fhir.CodeRotation, codedBy("rotation")), may(fhir.CodeMotion, codedBy("motion"))}
	inPosition = one(fhir.CodeArmPosition, codedBy("arm-position"))
	supported  = may(fhir.CodeArmSupport, codedBy("arm-support"))
	contracted = may(fhir.CodeContractionType, codedBy("contraction-type"))
)

// sinceFirst is the components of a change since the first session, all of them or
// none.
func sinceFirst(value content) []part {
	return []part{may(fhir.CodeChangeBaseline, value), may(fhir.CodeDetectableBaseline, value)}
}

// sincePrevious is the components beside a result that is itself the change since the
// previous session.
func sincePrevious(value content) []part {
	return []part{one(fhir.CodePreviousValue, value), one(fhir.CodeDetectablePrevious, value)}
}

func join(lists ...[]part) (all []part) {
	for _, l := range lists {
		all = append(all, l...)
	}
	return all
}

// redFlag has a component for each number that shows it, with its date.
func redFlag() profile {
	reading := ofType("Quantity", "string") // a manual grade is text
	return profile{
		id: "red-flag", title: "Red flag",
		description: "What in the measurements calls for an examination before any load: it outranks every other result, and keeps all load out of the plan until a clinician has examined the shoulder.",
		code:        fhir.CodeRedFlag, value: codedBy("red-flag"), derived: true,
		parts: []part{
			one(fhir.CodeFlagHolds, ofType("boolean")),
			may(fhir.CodeExaminationDate, ofType("dateTime")),
			ofMotion[0], ofMotion[1],
			may(fhir.CodeArmPosition, codedBy("arm-position")),
			may(fhir.CodePainContext, codedBy("pain-context")),
			may(fhir.CodeFlagMeasure, ofType("CodeableConcept")),
			may(fhir.CodeFlagAgainst, ofType("CodeableConcept")),
			one(fhir.CodeCurrentValue, reading),
			one(fhir.CodeCurrentDate, ofType("dateTime")),
			may(fhir.CodeAgainstValue, ofType("Quantity")),
			may(fhir.CodeAgainstDate, ofType("dateTime")),
			may(fhir.CodeTests, ofType("integer")),
			one(fhir.CodeFlagValue, reading),
		},
	}
}

func limbSymmetryIndex() profile {
	strength, byMass := inUnitsOf("computed-strength-unit"), inUnitsOf("strength-by-mass-unit")
	return profile{
		id: "limb-symmetry-index", title: "Limb symmetry index",
		description: "100 times the strength of the involved side by that of the comparison side in one arm position, both tested alike, with its interval from measurement error, and what changed since the previous and the first session. What all sessions show together stands in the course of the rotation. The reference ranges are the thresholds of the rules that their types name, evenness first. One in doubt is shown and decides nothing.",
		code:        fhir.CodeLimbSymmetryIndex, value: inUnit("%"), method: true, derived: true, rules: []constraint{oneMotion},
		parts: join(
			ofMotion,
			[]part{
				inPosition, supported, contracted,
				{code: ours(fhir.CodeIntervalLow), value: inUnit("%"), min: 1, lacking: true},
				{code: ours(fhir.CodeIntervalHigh), value: inUnit("%"), min: 1, lacking: true},
				one(fhir.CodeProbabilityAtThreshold, inUnit("%")),
				one(fhir.CodeProbabilityGoodEnough, inUnit("%")),
				one(fhir.CodeInvolvedStrength, strength),
				one(fhir.CodeComparisonStrength, strength),
				may(fhir.CodeInvolvedByMass, byMass),
				may(fhir.CodeComparisonByMass, byMass),
				{code: ours(fhir.CodeInvolvedError), value: inUnit("%"), min: 1, lacking: true},
				{code: ours(fhir.CodeComparisonError), value: inUnit("%"), min: 1, lacking: true},
				several(fhir.CodeDoubt, codedBy("doubt")),
				may(fhir.CodeWasEven, inUnit("%")),
				may(fhir.CodeWasEvenDate, ofType("dateTime")),
				may(fhir.CodeUsualIndex, inUnit("%")),
				may(fhir.CodeEarlierBestIndex, inUnit("%")),
				may(fhir.CodeEarlierBestDate, ofType("dateTime")),
				may(fhir.CodeDominantSide, codedBy("side")),
				may(fhir.CodeDominantAdjustedIndex, inUnit("%")),
				may(fhir.CodeChangePrevious, inUnit("%")),
				may(fhir.CodeChangeBaseline, inUnit("%")),
			}),
	}
}

func rotationRatio() profile {
	return profile{
		id: "er-ir-ratio", title: "External to internal rotation strength ratio",
		description: "External by internal rotation strength of one side in one arm position. The reference range is a published band, for orientation and never a criterion.",
		code:        fhir.CodeRotationRatio, value: inUnit("{ratio}"), method: true, derived: true,
		parts: []part{inPosition, supported, contracted},
	}
}

func rangeFraction() profile {
	return profile{
		id: "range-fraction", title: "Active range as a share of full range",
		description: "The active range of the movement that opens an elevated arm position, as a share of full range. The reference range is the threshold.",
		code:        fhir.CodeRangeFraction, value: inUnit("%"), derived: true,
		parts: []part{inPosition, may(fhir.CodeRangeNeeded, inUnit("deg"))},
	}
}

// changes are what changed since the previous session and the first one: strength
// of each side, range and pain of the involved one.
func changes() []profile {
	strength := inUnitsOf("computed-strength-unit")
	return []profile{
		{
			id: "strength-change", title: "Change of strength",
			description: "The change of one side's strength since the previous session, in the same test, and by the interpretation what it comes to against measurement error. Of the comparison side only a change beyond error is shown, unless no side is unaffected.",
			code:        fhir.CodeStrengthChange, value: strength, method: true, derived: true, rules: []constraint{oneMotion},
			parts: join(
				ofMotion, []part{inPosition, supported, contracted},
				sincePrevious(strength), sinceFirst(strength)),
		},
		{
			id: "range-change", title: "Change of range",
			description: "The change of a range of motion of the involved side since the previous session.",
			code:        fhir.CodeRangeChange, value: inUnit("deg"), derived: true,
			parts: join([]part{may(fhir.CodeArmPosition, codedBy("arm-position"))}, sincePrevious(inUnit("deg")), sinceFirst(inUnit("deg"))),
		},
		{
			id: "pain-change", title: "Change of pain",
			description: "The change of a pain score since the previous session.",
			code:        fhir.CodePainChange, value: inUnit("{score}"), derived: true,
			parts: join(
				[]part{may(fhir.CodePainContext, codedBy("pain-context")), may(fhir.CodeArmPosition, codedBy("arm-position"))},
				sincePrevious(inUnit("{score}")), sinceFirst(inUnit("{score}"))),
		},
	}
}

// oneMotion: a result of a motion names it in one of two components.
var oneMotion = rule(3, "a result names its motion", "component.code.coding.where(system = '"+fhir.SystemShoulder+"' and (code = '"+
	fhir.CodeRotation+"' or code = '"+fhir.CodeMotion+"')).count() = 1")

// outcomeChange is that of whatever the protocol adds, in its unit.
func outcomeChange() profile {
	quantity := ofType("Quantity")
	return profile{
		id: "outcome-measure-change", title: "Change of an outcome measure",
		description: "The change of an outcome measure of the protocol since the previous session. A component has the current value, under the measure's own code.",
		code:        fhir.CodeOutcomeChange, value: quantity, derived: true,
		parts: join(
			sincePrevious(quantity), sinceFirst(quantity),
			[]part{may(fhir.CodeImportantPrevious, ofType("boolean")), may(fhir.CodeImportantBaseline, ofType("boolean"))}),
	}
}

// strengthRules are the rules of how strong a rotation is in a position. Both rotations
// share the verdicts on the others.
var strengthRules = []readiness.Rule{readiness.GoodEnough, readiness.Even, readiness.EvenConfirmed}

// rotationReadiness has a component for the verdict on every criterion of strength. Where
// no other result has the value that was held against the threshold, it stands behind it.
func rotationReadiness() profile {
	parts := []part{
		ofRotation,
		may(fhir.CodeNextStep, codedBy("training-step")),
		several(fhir.CodeHeldBy, codedBy("criterion")),
		several(fhir.CodeSupportedBy, codedBy("criterion")),
		several(fhir.CodeContinueBeside, codedBy("arm-position")),
		may(fhir.CodeSteppedBack, codedBy("arm-position")),
		may(fhir.CodeProvisional, ofType("boolean")),
	}
	for _, r := range strengthRules {
		parts = append(parts, verdicts(r)...)
	}
	return profile{
		id: "rotation-readiness", title: "Open step of a rotation",
		description: "The step that is open to the training of one rotation. Each criterion of its strength has a component with its verdict, those that both rotations share stand with the overall status. The value that was held against the threshold is that of the index, which the result is derived from; a grade or a change since the first measurement stands behind the verdict.",
		code:        fhir.CodeRotationReadiness, value: codedBy("training-step"),
		parts: parts,
	}
}

// verdicts are the components for the verdicts on a rule: of outcome measures one for
// each that the protocol makes a gate.
func verdicts(r readiness.Rule) (all []part) {
	for _, p := range positionsOf(r) {
		if r == readiness.OutcomeAcceptable || r == readiness.OutcomeForFunction {
			all = append(all, several(criterion(r, p).Code, codedBy("verdict")))
			continue
		}
		all = append(all, may(criterion(r, p).Code, codedBy("verdict")))
	}
	return all
}

func overallReadiness() profile {
	parts := []part{
		one(fhir.CodeIrritability, codedBy("irritability")),
		several(fhir.CodeRedFlag, codedBy("red-flag")),
		may(fhir.CodePermittedLoad, codedBy("load-phase")),
		may(fhir.CodeNextLoad, codedBy("load-phase")),
		may(fhir.CodeNextLoadDate, ofType("dateTime")),
	}
	for _, r := range readiness.Rules {
		if !slices.Contains(strengthRules, r) {
			parts = append(parts, verdicts(r)...)
		}
	}
	return profile{
		id: "overall-readiness", title: "Overall status of the shoulder",
		description: "The status that follows from the red flags, the healing of a repair and both rotations, which are its members, with the verdicts on the criteria that both share and on those of functional work. A criterion that does not apply has no component; the value that was held against a threshold stands behind the verdict, unless it is a range, which the result is derived from.",
		code:        fhir.CodeOverallReadiness, value: codedBy("overall-status"), members: len(shoulder.Trained),
		parts: parts,
	}
}
