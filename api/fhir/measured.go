package fhirapi

import "evenreach.example/internal/fhir"

// measuredProfiles are what a measurement looks like at its best. More is read:
// the side may also come in a laterality extension or in the code, and a site's
// own codes through a ConceptMap.
func measuredProfiles() []profile {
	position := one(fhir.CodeArmPosition, codedBy("arm-position"))
	support := may(fhir.CodeArmSupport, codedBy("arm-support"))
	contraction := may(fhir.CodeContractionType, codedBy("contraction-type"))
	return []profile{
		{
			id: "isometric-strength", title: "Isometric strength of a motion of the shoulder",
			description: "One strength test of one side in one arm position: a single reading as the value, or several as trial components.",
			codes:       "strength-measure", value: inUnitsOf("strength-unit"), method: true, sideNeeded: true,
			parts: []part{
				position, support, contraction,
				several(fhir.CodeTrial, inUnitsOf("strength-unit")),
				may(fhir.CodePainDuringTest, ofType("boolean")),
			},
			rules: []constraint{rule(1, "a strength has a value, trials, or a reason for their absence",
				"value.exists() or dataAbsentReason.exists() or component.code.coding.where(system = '"+fhir.SystemShoulder+"' and code = '"+fhir.CodeTrial+"').exists()")},
		},
		{
			id: "manual-muscle-test", title: "Manual muscle test of a motion of the shoulder",
			description: "The grade of one side in one arm position, from 0 to 5 with plus and minus: as a code of ours, as text, or as a number if it has no sign.",
			codes:       "manual-muscle-test", value: ofType("CodeableConcept", "Quantity", "string", "integer"), sideNeeded: true,
			parts: []part{position, support, contraction},
		},
		{
			id: "arm-held-steady", title: "Arm held steady",
			description: "Whether the upper arm stayed still when it was held free in an arm position.",
			code:        fhir.CodeArmHeldSteady, value: ofType("boolean"), sideNeeded: true,
			parts: []part{position},
		},
		{
			id: "resisted-strengthening-clearance", title: "Clearance for resisted work",
			description: "Whether resisted work is allowed, by the operating surgeon or the treating clinician. The latest one counts; of one day a false one.",
			code:        fhir.CodeResistedClearance, value: ofType("boolean"), valueNeeded: true, byClinician: true,
		},
		{
			id: "examined-and-cleared-to-load", title: "Examined and cleared to load",
			description: "Whether the shoulder may be loaded, by a clinician who has examined it after a red flag. A true one lets go of the red flags that were measured before it; a false one takes all load away until a later one is true.",
			code:        fhir.CodeExaminedAndCleared, value: ofType("boolean"), valueNeeded: true, byClinician: true,
		},
		{
			id: "permitted-load", title: "Permitted load",
			description: "The phase of load that the operating surgeon permits after a cuff repair, in place of what the weeks since would. The latest one counts; of one day the more careful one.",
			code:        fhir.CodePermittedLoad, value: codedBy("load-phase"), valueNeeded: true, byClinician: true,
		},
		{
			id: "measurement-confirmed", title: "Measurement confirmed",
			description: "Whether strengths that look doubtful are right, by a clinician. The Observations are in focus, or in derivedFrom.",
			code:        fhir.CodeMeasurementConfirmed, value: ofType("boolean"), valueNeeded: true, byClinician: true,
			rules: []constraint{rule(2, "a confirmation says what it confirms", "focus.exists() or derivedFrom.exists()")},
		},
		{
			id: "lever-arm-length", title: "Lever arm length",
			description: "The distance from the axis of the shoulder's rotation to the pad of the dynamometer, of one side or of both.",
			code:        fhir.CodeLeverArmLength, value: inUnitsOf("length-unit"),
		},
		{
			id: "cuff-tear-size", title: "Size of the rotator cuff tear",
			description: "The largest extent of the tear; a massive tear heals longer.",
			code:        fhir.CodeCuffTearSize, value: inUnitsOf("length-unit"),
		},
		{
			id: "shoulder-range", title: "Range of motion of the shoulder",
			description: "How far one movement of one side goes, actively or passively. For rotations the arm position may be given.",
			codes:       "shoulder-range", value: inUnit("deg"), sideNeeded: true,
			parts: []part{may(fhir.CodeArmPosition, codedBy("arm-position"))},
		},
		{
			id: "shoulder-pain", title: "Pain of the shoulder",
			description: "A score from 0 to 10. Pain during the resisted test is a criterion; another context is not.",
			codes:       "pain-score", value: ofType("Quantity", "integer"),
			parts: []part{
				may(fhir.CodePainContext, codedBy("pain-context")),
				may(fhir.CodeArmPosition, codedBy("arm-position")),
			},
		},
	}
}
