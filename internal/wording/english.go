package wording

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

var english = Catalogue{
	language: "en",
	decimal:  ".",
	Headings: englishHeadings,
	terms:    englishTerms,
	units:    englishUnits,
	phrases:  englishPhrases,

	plainHeadings: englishPlainHeadings,
	plainTerms:    englishPlainTerms,
	plain:         englishPlain,
}

var englishHeadings = Headings{
	Title:     "Shoulder rotation strength: re-check",
	PlanTitle: "Shoulder rotation strength: proposed plan",
	NoteTitle: "Shoulder rotation strength: progress note",
	Chart:     "Limb symmetry index (LSI), %, by rotation and arm position",
	Why:       "Step of each rotation, and why",
	Next:      "What next",
	Strength:  "Strength and symmetry",
	Course:    "Range, pain and course",
	Exercises: "Proposed exercises",
	Measure:   "Measure next",
	Goals:     "Goals",
	Input:     "Input not used, corrected or missing",
	Cautions:  "Cautions",
	Sources:   "Rules and their sources",
	Progress:  "First measurement and now",
	RangePain: "Range and pain",

	Position:   "Position",
	Involved:   "Involved",
	Comparison: "Comparison",
	Index:      "LSI, %",
	Interval:   "{1} interval",
	Verdict:    "Verdict",
	Change:     "Change and notes",

	Measured:   "Measured",
	Since:      "Since",
	First:      "First",
	Now:        "Now",
	Difference: "Change",
	Detectable: "Detectable",
	Result:     "Result",
	Notes:      "Notes",
}

var englishUnits = map[string]unit{
	"N":               {"N", "{1} N", "{1} N"},
	"N.m":             {"N m", "{1} N m", "{1} N m"},
	"[lbf_av]":        {"lbf", "{1} lbf", "{1} lbf"},
	"[lbf_av].[ft_i]": {"lbf ft", "{1} lbf ft", "{1} lbf ft"},
	"kgf":             {"kgf", "{1} kgf", "{1} kgf"},
	"kgf.m":           {"kgf m", "{1} kgf m", "{1} kgf m"},
	"N/kg":            {"N/kg", "{1} N/kg", "{1} N/kg"},
	"%":               {"%", "{1} %", "{1} percentage points"},
	"deg":             {"degrees", "{1} degrees", "{1} degrees"},
	"{score}":         {"of 10", "{1}/10", "{1}"},
	"wk":              {"weeks", "{1} weeks", "{1} weeks"},
	"d":               {"days", "{1} days", "{1} days"},
	"cm":              {"cm", "{1} cm", "{1} cm"},
}

var englishTerms = terms{
	side:   []string{"side not known", shoulder.Right: "right", shoulder.Left: "left"},
	onSide: []string{"on the involved side", shoulder.Right: "on the right", shoulder.Left: "on the left"},
	rotation: []string{"rotation not known",
		shoulder.External: "external rotation",
		shoulder.Internal: "internal rotation"},
	position: []string{"arm position not stated",
		shoulder.AtSide:      "arm at the side",
		shoulder.Flexion90:   "90 degrees of flexion",
		shoulder.Abduction90: "90 degrees of abduction"},
	atPosition: []string{"in an arm position that is not stated",
		shoulder.AtSide:      "with the arm at the side",
		shoulder.Flexion90:   "at 90 degrees of flexion",
		shoulder.Abduction90: "at 90 degrees of abduction"},
	positionShort: []string{"not stated",
		shoulder.AtSide:      "at the side",
		shoulder.Flexion90:   "90° flexion",
		shoulder.Abduction90: "90° abduction"},
	support: []string{"support not stated",
		shoulder.Supported:   "arm supported",
		shoulder.Unsupported: "arm unsupported"},
	contraction: []string{"make or break test not stated",
		shoulder.Make:  "make test",
		shoulder.Break: "break test"},
	instrument: []string{"instrument not stated",
		shoulder.Handheld:       "hand-held dynamometer",
		shoulder.BeltStabilised: "belt-stabilised dynamometer",
		shoulder.Isokinetic:     "isokinetic dynamometer"},
	movement: []string{"movement not known",
		shoulder.Flexion:          "flexion",
		shoulder.Abduction:        "abduction",
		shoulder.ExternalRotation: "external rotation",
		shoulder.InternalRotation: "internal rotation"},
	painContext: []string{"pain, occasion not recorded",
		shoulder.PainAtRest:             "pain at rest",
		shoulder.PainDuringResistedTest: "pain during the resisted test",
		shoulder.PainWorst24h:           "worst pain in 24 hours"},

	step: []string{
		readiness.NoStep:                     "no resisted work of the rotators",
		readiness.StepAtSide:                 "arm at the side",
		readiness.StepFlexion90Supported:     "90 degrees of flexion, arm supported",
		readiness.StepFlexion90Unsupported:   "90 degrees of flexion, arm unsupported",
		readiness.StepAbduction90Supported:   "90 degrees of abduction, arm supported",
		readiness.StepAbduction90Unsupported: "90 degrees of abduction, arm unsupported",
		readiness.StepFunctional:             "functional work",
	},
	overall: []string{
		readiness.InsufficientData:   "not enough measured to decide",
		readiness.NotCleared:         "resisted work not cleared",
		readiness.LimitedByRange:     "limited by active range",
		readiness.LimitedByPain:      "limited by pain",
		readiness.Strengthening:      "strengthening",
		readiness.ReadyForFunctional: "ready for functional work",
	},
	decision: []string{
		readiness.InsufficientData:   "Not enough is measured to decide about every step.",
		readiness.NotCleared:         "Resisted work of the rotators is not cleared: no resisted test and no strengthening yet.",
		readiness.LimitedByRange:     "Active range limits: an elevated position stays closed until the arm lifts further.",
		readiness.LimitedByPain:      "Pain during the resisted test limits: the load is not raised where pain is over the limit.",
		readiness.Strengthening:      "Strengthening goes on: the sides are not yet shown to be even in all three positions.",
		readiness.ReadyForFunctional: "Both rotations are even in all three positions: functional strengthening can take over from direct cuff work.",
	},
	verdict: []string{
		readiness.NotMeasured:   "not measured",
		readiness.NotMet:        "not met",
		readiness.Met:           "met",
		readiness.NotApplicable: "does not apply",
	},
	certainty: []string{
		measure.NoCertainty: "certainty not stated",
		measure.WithinError: "within measurement error",
		measure.Clear:       "beyond measurement error",
	},
	rule: []string{
		readiness.TissueHealed:   "healing time after a cuff repair",
		readiness.PainAcceptable: "pain during the resisted test",
		readiness.RangeOpen:      "active range, share of full range",
		readiness.RangeMinimum:   "active range, position reached",
		readiness.GoodEnough:     "strong enough to move on",
		readiness.ArmSteady:      "arm stays still when held free",
		readiness.Even:           "even with the other side",
		readiness.EvenConfirmed:  "evenness confirmed",
	},
	direction: []string{
		measure.Unchanged: "within measurement error",
		measure.Improved:  "improved beyond measurement error",
		measure.Declined:  "declined beyond measurement error",
	},
	directionShort: []string{
		measure.Unchanged: "within error",
		measure.Improved:  "improved",
		measure.Declined:  "declined",
	},
	mismatch: []string{
		measure.NoComparison:       "comparison side not measured",
		measure.TooOld:             "measurement of the comparison side too old",
		measure.SupportDiffers:     "arm support differs between the sides",
		measure.ContractionDiffers: "make or break test differs between the sides",
		measure.InstrumentDiffers:  "instrument differs between the sides",
		measure.DimensionDiffers:   "force on one side and torque on the other, lever arm not known",
		measure.ComparisonZero:     "comparison side measured as zero",
	},
	condition: []string{
		measure.Usual:        "usual testing",
		measure.Stabilised:   "belt-stabilised testing",
		measure.Unstabilised: "painful or unstabilised testing",
	},
	outlook: []string{
		measure.Reached:       "evenness is reached",
		measure.Forecast:      "evenness is in sight",
		measure.Flat:          "not to be told from flat, so no forecast",
		measure.Falling:       "falling, so no forecast",
		measure.BeyondHorizon: "too slow for a forecast",
	},
	place: []string{
		measure.WithinBand: "within the published band",
		measure.BelowBand:  "below the published band",
		measure.AboveBand:  "above the published band",
	},
	irritability: []string{
		plan.IrritabilityUnknown:  "not known, treated as high",
		plan.HighIrritability:     "high",
		plan.ModerateIrritability: "moderate",
		plan.LowIrritability:      "low",
	},
	mode: []string{
		plan.NoResistance:          "without resistance",
		plan.Isometric:             "isometric",
		plan.RhythmicStabilisation: "rhythmic stabilisation",
		plan.Isotonic:              "active, then resisted isotonic",
	},
	purpose: []string{
		plan.Strengthen:    "strengthening at the open step",
		plan.Continue:      "continued in a lower position that is not even yet",
		plan.RestoreRange:  "restoring active range",
		plan.BeginFunction: "a first, small amount of functional or sport work",
		plan.FullFunction:  "functional strengthening in place of direct cuff work",
	},
	cue: []string{
		plan.RollUnderArm:     "Place a small rolled towel between the upper arm and the trunk.",
		plan.ArmOnSurface:     "Rest the arm on a table or another firm surface.",
		plan.PullFromAbove:    "Let the resistance pull from above the arm.",
		plan.PullLevelOrBelow: "Let the resistance pull from the height of the arm or lower.",
		plan.UpperArmStill:    "Keep the upper arm still; only the forearm travels.",
		plan.NoForwardDrift:   "Do not let the upper arm drift forward.",
		plan.MirrorAsFeedback: "Use a mirror to see that the arm stays where it is.",
		plan.PainWithinLimit:  "Pain stays within the limit and settles before the next session.",
		plan.DoNotRaiseLoad:   "Do not raise the load until pain is back within the limit.",
		plan.SurgeonsProtocol: "The operating surgeon's protocol decides what is done and when.",
	},
	caution: []string{
		plan.SupportsJudgement: "This supports the judgement of a licensed clinician and does not replace it; every line of the plan is a proposal.",
		plan.LocalRulesGovern:  "Local codes, the operating surgeon's protocol and facility policy govern.",
		plan.ReferFirst: "Refer before exercising: hot, red or swollen joint with fever or illness; suspected fracture or dislocation; " +
			"sudden loss of strength or feeling; weakness or an arm that cannot be lifted after an injury; unexplained lump, weight loss " +
			"or a history of cancer; severe pain without an explanation; suspected inflammatory arthritis; signs that point to the neck, " +
			"the heart or an inner organ; pain and stiffness of both shoulders with headache or disturbed sight.",
		plan.RotatorsOnly:        "The scope is the rotators of the cuff. Scapular muscles, motor control and everything else in the plan of care stay with the clinician.",
		plan.SurgeonGoverns:      "Resisted work is cleared before its usual time after the repair: the operating surgeon's protocol decides.",
		plan.HealingTissue:       "Healing tissue: no resisted test and no resisted work until it is cleared or the time has passed.",
		plan.OneSession:          "At the usual measurement error one session can rarely prove that the sides are even; a further even session confirms it.",
		plan.BothSidesWeak:       "The comparison side is weak for the body mass too: the index can look good although both sides are weak. Look at the forces.",
		plan.NoUnaffectedSide:    "There is no unaffected side, so no verdict rests on symmetry; change against the first measurement counts instead.",
		plan.PainNotRecorded:     "Pain during the resisted test is not recorded; it holds nothing back here, and it has to be asked for.",
		plan.PainWithoutContext:  "A pain score that does not say when it was felt stands in for pain during the resisted test.",
		plan.ManualTestLimits:    "A manual muscle test cannot show that the sides are even: patients graded normal had a 28 % deficit in external rotation (Tyler et al. 2005).",
		plan.FlexionErrorUnknown: "No study was found on the measurement error at 90 degrees of flexion; the error of the other positions is used.",
	},
	ask: []string{
		plan.AskStrength:   "strength of {1}, both sides tested alike",
		plan.AskRange:      "{1}, involved side",
		plan.AskPain:       "pain from 0 to 10 during the resisted test",
		plan.AskSteadiness: "whether the arm stays still when held free {1}",
		plan.AskClearance:  "whether resisted work is cleared by the operating surgeon or the treating clinician",
		plan.AskRepairDate: "date of the cuff repair",
	},
	why: []string{
		plan.WhyMissing:      "not recorded yet, or not usable",
		plan.WhyStale:        "last measurement too old to decide with",
		plan.WhyProvisional:  "the position is open without a measurement",
		plan.WhyManualOnly:   "a manual test cannot show evenness",
		plan.WhyNotAlike:     "the sides cannot be compared",
		plan.WhyConfirm:      "to confirm that the sides are even",
		plan.WhyHealing:      "healing after the repair",
		plan.WhyRoutineCheck: "regular re-check",
	},
	aim: []string{
		plan.AimGoodEnough: "{1}, strong enough to move on",
		plan.AimEven:       "{1}, even with the other side",
		plan.AimEvenAll:    "{1}, even in all three positions",
		plan.AimRange:      "active range for an elevated position",
		plan.AimPain:       "pain within the limit",
	},
	achievement: []string{
		plan.InProgress: "in progress",
		plan.Improving:  "improving",
		plan.Worsening:  "worsening",
		plan.NoChange:   "no change beyond measurement error",
		plan.Achieved:   "achieved",
	},
	level: []string{
		levelNotMeasured: "not measured",
		levelNoYardstick: "no unaffected side",
		levelUnlike:      "no comparison",
		levelStale:       "too old to decide",
		levelTooWeak:     "not good enough",
		levelGoodEnough:  "good enough, not even",
		levelGradeWeak:   "manual grade {1}: not good enough",
		levelGradeGood:   "manual grade {1}: good enough",
		levelEvenOnce:    "even, to be confirmed",
		levelEven:        "even, confirmed",
	},
	scoreRule:  []string{protocol.Mean: "the mean of the trials", protocol.Maximum: "the best trial"},
	comparison: []string{"{1}", protocol.AtLeast: "at least {1}", protocol.MoreThan: "more than {1}", protocol.AtMost: "at most {1}", protocol.LessThan: "less than {1}"},
	kind:       kindDisplays(),
}

// kindDisplays are the displays of our own code system, which are English.
func kindDisplays() []string {
	kinds := fault.Kinds()
	displays := make([]string, len(kinds))
	for i, k := range kinds {
		displays[i] = k.Display()
	}
	return displays
}
