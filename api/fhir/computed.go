package fhirapi

import (
	"slices"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// computedProfiles are what results look like.
func computedProfiles() []profile {
	all := []profile{redFlag(), limbSymmetryIndex(), pooledSymmetryIndex(), rotationRatio(), rangeFraction()}
	all = append(all, changes()...)
	all = append(all, outcomeChange(), symmetryTrend(), rotationReadiness(), overallReadiness())
	for i := range all {
		all[i].computed, all[i].sideNeeded, all[i].valueNeeded = true, true, true
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

// interval are the ends of an interval, which may have none.
func interval(unit string) []part {
	return []part{
		{code: ours(fhir.CodeIntervalLow), value: inUnit(unit), min: 1, lacking: true},
		{code: ours(fhir.CodeIntervalHigh), value: inUnit(unit), min: 1, lacking: true},
	}
}

// sincePrevious and sinceFirst are the components of a change, all of them or
// none; least is how often each occurs at least.
func sincePrevious(least int, value content) []part {
	return since(least, value, fhir.CodePreviousValue, fhir.CodeChangePrevious, fhir.CodeDetectablePrevious, fhir.CodeDirectionPrevious)
}

func sinceFirst(value content) []part {
	return since(0, value, fhir.CodeBaselineValue, fhir.CodeChangeBaseline, fhir.CodeDetectableBaseline, fhir.CodeDirectionBaseline)
}

func since(least int, value content, then, difference, detectable, direction string) []part {
	return []part{
		{code: ours(then), value: value, min: least},
		{code: ours(difference), value: value, min: least},
		{code: ours(detectable), value: value, min: least},
		{code: ours(direction), value: codedBy("change-direction"), min: least},
	}
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
		description: "100 times the strength of the involved side by that of the comparison side in one arm position, both tested alike, with its interval from measurement error. The reference range is the threshold of evenness. One in doubt is shown and decides nothing.",
		code:        fhir.CodeLimbSymmetryIndex, value: inUnit("%"), method: true, derived: true, rules: []constraint{oneMotion},
		parts: join(
			ofMotion, []part{inPosition, supported, contracted},
			interval("%"),
			[]part{
				one(fhir.CodeProbabilityAtThreshold, inUnit("%")),
				one(fhir.CodeProbabilityGoodEnough, inUnit("%")),
				one(fhir.CodeCertainty, codedBy("certainty")),
				one(fhir.CodeInvolvedStrength, strength),
				one(fhir.CodeComparisonStrength, strength),
				may(fhir.CodeInvolvedByMass, byMass),
				may(fhir.CodeComparisonByMass, byMass),
				{code: ours(fhir.CodeInvolvedError), value: inUnit("%"), min: 1, lacking: true},
				{code: ours(fhir.CodeComparisonError), value: inUnit("%"), min: 1, lacking: true},
				may(fhir.CodeNeededGoodEnough, strength),
				may(fhir.CodeNeededEven, strength),
				several(fhir.CodeDoubt, codedBy("doubt")),
				may(fhir.CodeWasEven, inUnit("%")),
				may(fhir.CodeWasEvenDate, ofType("dateTime")),
				may(fhir.CodeUsualIndex, inUnit("%")),
				may(fhir.CodeEarlierBestIndex, inUnit("%")),
				may(fhir.CodeEarlierBestDate, ofType("dateTime")),
				may(fhir.CodeDominantSide, codedBy("side")),
				may(fhir.CodeDominantAdjustedIndex, inUnit("%")),
			},
			sincePrevious(0, inUnit("%")), sinceFirst(inUnit("%"))),
	}
}

func pooledSymmetryIndex() profile {
	return profile{
		id: "pooled-symmetry-index", title: "Limb symmetry index, all sessions together",
		description: "What all sessions of a rotation and arm position together show the limb symmetry index to be at the latest one. It can confirm evenness.",
		code:        fhir.CodePooledSymmetryIndex, value: inUnit("%"), derived: true, rules: []constraint{oneMotion},
		parts: join(
			ofMotion, []part{inPosition},
			interval("%"),
			[]part{
				one(fhir.CodeProbabilityAtThreshold, inUnit("%")),
				one(fhir.CodeSessions, ofType("integer")),
				one(fhir.CodeDrift, inUnit("%/wk")),
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
	percent := []part{may(fhir.CodeChangePreviousPercent, inUnit("%")), may(fhir.CodeChangeBaselinePercent, inUnit("%"))}
	return []profile{
		{
			id: "strength-change", title: "Change of strength",
			description: "The change of one side's strength since the previous session, in the same test, and what it comes to against measurement error.",
			code:        fhir.CodeStrengthChange, value: strength, method: true, derived: true, rules: []constraint{oneMotion},
			parts: join(
				ofMotion, []part{inPosition, supported, contracted, one(fhir.CodeCurrentValue, strength)},
				sincePrevious(1, strength), sinceFirst(strength), percent),
		},
		{
			id: "range-change", title: "Change of range",
			description: "The change of a range of motion of the involved side since the previous session.",
			code:        fhir.CodeRangeChange, value: inUnit("deg"), derived: true,
			parts: join([]part{may(fhir.CodeArmPosition, codedBy("arm-position"))}, sincePrevious(1, inUnit("deg")), sinceFirst(inUnit("deg"))),
		},
		{
			id: "pain-change", title: "Change of pain",
			description: "The change of a pain score since the previous session.",
			code:        fhir.CodePainChange, value: inUnit("{score}"), derived: true,
			parts: join(
				[]part{may(fhir.CodePainContext, codedBy("pain-context")), may(fhir.CodeArmPosition, codedBy("arm-position"))},
				sincePrevious(1, inUnit("{score}")), sinceFirst(inUnit("{score}"))),
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
			sincePrevious(1, quantity), sinceFirst(quantity),
			[]part{may(fhir.CodeImportantPrevious, ofType("boolean")), may(fhir.CodeImportantBaseline, ofType("boolean"))}),
	}
}

func symmetryTrend() profile {
	return profile{
		id: "symmetry-trend", title: "Trend of the limb symmetry index",
		description: "The slope of the limb symmetry index over three sessions or more, with its interval. A date is the slope drawn on; it promises nothing.",
		code:        fhir.CodeSymmetryTrend, value: inUnit("%/wk"), method: true, derived: true, rules: []constraint{oneMotion},
		parts: join(
			ofMotion, []part{inPosition, supported, contracted},
			interval("%/wk"),
			[]part{
				one(fhir.CodeSessions, ofType("integer")),
				one(fhir.CodeOutlook, codedBy("outlook")),
				may(fhir.CodeForecastDate, ofType("dateTime")),
				may(fhir.CodeForecastEarliest, ofType("dateTime")),
				may(fhir.CodeForecastLatest, ofType("dateTime")),
			}),
	}
}

// rotationReadiness has a component for the verdict on every criterion. Behind
// it, beside these, stands the value that was held against the threshold.
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
	for _, r := range readiness.Rules {
		if !slices.Contains(functionRules, r) {
			parts = append(parts, verdicts(r)...)
		}
	}
	return profile{
		id: "rotation-readiness", title: "Open step of a rotation",
		description: "The step that is open to the training of one rotation. Each criterion has a component with its verdict, and behind it one with the value that was held against the threshold.",
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
		all = append(all, one(criterion(r, p).Code, codedBy("verdict")))
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
	for _, r := range functionRules {
		parts = append(parts, verdicts(r)...)
	}
	return profile{
		id: "overall-readiness", title: "Overall status of the shoulder",
		description: "The status that follows from the red flags, the healing of a repair and both rotations, which are its members, with the criteria of functional work.",
		code:        fhir.CodeOverallReadiness, value: codedBy("overall-status"), members: len(shoulder.Trained),
		parts: parts,
	}
}
