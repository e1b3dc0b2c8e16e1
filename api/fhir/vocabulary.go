package fhirapi

import (
	"fmt"
	"slices"
	"sync"

	"evenreach.example/internal/course"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/record"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// concept is one code of ours with its meaning.
type concept struct {
	Code       string `json:"code"`
	Display    string `json:"display"`
	Definition string `json:"definition"`
}

// group is concepts that belong together, such as the values of one element.
// Each becomes a value set. A concept may be in several groups.
type group struct {
	id, title, description string
	concepts               []concept
}

// words are the texts of displays. The published artefacts are in English.
var words = wording.For("en")

// groups are all codes of our code system, by what they are for. A code that
// serves twice, such as the arm position that is also a step, has one display,
// the first.
func groups() []group {
	all := append(measuredGroups(), computedGroups()...)
	all = append(all, readinessGroups()...)
	all = append(all, planGroups()...)
	first := map[string]string{}
	for _, g := range all {
		for i := range g.concepts {
			c := &g.concepts[i]
			if display, known := first[c.Code]; known {
				c.Display = display
			}
			first[c.Code] = c.Display
		}
	}
	return all
}

// concepts are the codes of our code system, each once.
func concepts() []concept {
	var all []concept
	seen := map[string]bool{}
	for _, g := range groups() {
		for _, c := range g.concepts {
			if !seen[c.Code] {
				seen[c.Code] = true
				all = append(all, c)
			}
		}
	}
	return all
}

var displays = sync.OnceValue(func() map[string]string {
	all := map[string]string{}
	for _, c := range concepts() {
		all[c.Code] = c.Display
	}
	return all
})

// Display is the name of a code of our code system, in English; empty for a code that
// is not in it.
func Display(code string) string { return displays()[code] }

// coded are concepts from codes and displays in turn.
func coded(codesAndDisplays ...string) []concept {
	var all []concept
	for pair := range slices.Chunk(codesAndDisplays, 2) {
		all = append(all, concept{pair[0], pair[1], definitions[pair[0]]})
	}
	return all
}

// named are the concepts of an enumeration, with the texts that people read.
func named[T fmt.Stringer](values []T, display func(T) string) []concept {
	all := make([]concept, len(values))
	for i, v := range values {
		all[i] = concept{v.String(), wording.Capital(display(v)), definitions[v.String()]}
	}
	return all
}

// upTo are the values of an enumeration from first to last.
func upTo[T ~uint8](first, last T) []T {
	var all []T
	for v := first; v <= last; v++ {
		all = append(all, v)
	}
	return all
}

// measuredGroups are the codes of what is measured or stated.
func measuredGroups() []group {
	return []group{
		{
			"measure", "What is measured or stated",
			"The codes of Observation.code for what no standard has a code for.",
			coded(
				fhir.CodeExternalRotationStrength, "Isometric external rotation strength",
				fhir.CodeInternalRotationStrength, "Isometric internal rotation strength",
				fhir.CodeAbductionStrength, "Isometric abduction strength",
				fhir.CodeExternalRotationGrade, "Manual muscle test of external rotation",
				fhir.CodeInternalRotationGrade, "Manual muscle test of internal rotation",
				fhir.CodeAbductionGrade, "Manual muscle test of abduction",
				fhir.CodeArmHeldSteady, "Arm stays still when held free",
				fhir.CodeLeverArmLength, "Lever arm length",
				fhir.CodeResistedClearance, "Cleared for resisted work",
				fhir.CodeCuffTearSize, "Size of the rotator cuff tear",
				fhir.CodeExaminedAndCleared, "Examined and cleared to load",
				fhir.CodePermittedLoad, "Permitted load",
				fhir.CodeMeasurementConfirmed, "Measurement confirmed",
			),
		},
		{
			"measure-component", "Components of a measurement",
			"The codes of Observation.component.code that say how a measurement was made.",
			coded(
				fhir.CodeArmPosition, "Arm position",
				fhir.CodeArmSupport, "Arm support",
				fhir.CodeContractionType, "Contraction type",
				fhir.CodeTrial, "Trial",
				fhir.CodePainContext, "Pain context",
				fhir.CodePainDuringTest, "Limited by pain",
				fhir.CodeSide, "Side",
			),
		},
		{"visit-kind", "Kind of visit", "What a visit was for, as a tag of its Encounter.", coded(fhir.CodePlannedRetest, "Planned re-test")},
		{"side", "Side", "The side under treatment, and the side that a site's own code implies.", named([]shoulder.Side{shoulder.Right, shoulder.Left}, words.Side)},
		{"arm-position", "Arm position", "Where the arm is while a motion is tested or trained.", named(shoulder.Positions[:], words.Position)},
		{"arm-support", "Arm support", "Whether the arm lies on something during the test.", named(upTo(shoulder.Supported, shoulder.Unsupported), words.Support)},
		{"contraction-type", "Contraction type", "The kind of the strength test.", named(upTo(shoulder.Make, shoulder.Break), words.Contraction)},
		{"strength-method", "Strength method", "What the strength was measured with.", named(upTo(shoulder.Handheld, shoulder.Isokinetic), words.Instrument)},
		{"pain-context", "Pain context", "When the pain was felt.", named(upTo(shoulder.PainAtRest, shoulder.PainWorst24h), words.PainContext)},
		{"load-phase", "Phase of load", "How much load a shoulder may bear after a cuff repair.", named(shoulder.LoadPhases[:], words.LoadPhase)},
		{"muscle-grade", "Muscle grade", "The grades of the manual muscle test.", named(upTo(shoulder.Grade0, shoulder.Grade5), gradeName)},
	}
}

func gradeName(g shoulder.MuscleGrade) string { return "grade " + words.Grade(g) }

// computedGroups are the codes of computed Observations, and behind them those
// of their components, of which the rotation is the first.
func computedGroups() []group {
	all := make([]concept, len(fhir.Computed))
	for i, c := range fhir.Computed {
		all[i] = concept{c.Code, c.Display, definitions[c.Code]}
	}
	results := slices.IndexFunc(all, func(c concept) bool { return c.Code == fhir.CodeRotation })
	return []group{
		{"result", "What is computed", "The codes of Observation.code of computed results.", all[:results]},
		{"result-component", "Components of a result", "The codes of Observation.component.code of computed results.", all[results:]},
		{"course-component", "Components of the course", "The component that has what all sessions show together of the test in an arm position.", ofCourse()},
	}
}

// in is a concept in an arm position, none for a concept of no position.
func (c concept) in(p shoulder.ArmPosition) concept {
	if p != shoulder.PositionUnstated {
		c.Display += ": " + words.Position(p)
		c.Definition += " Arm position: " + p.String() + "."
	}
	return c
}

// readinessGroups are the codes of criteria, verdicts and steps.
func readinessGroups() []group {
	verdicts, values := criteria(readiness.Rules[:]...), []concept(nil)
	for _, c := range criteria(slices.DeleteFunc(slices.Clone(readiness.Rules[:]), func(r readiness.Rule) bool { return !record.HasValue(r) })...) {
		values = append(values, concept{c.Code + fhir.SuffixValue, c.Display + ", value", "What was held against the threshold of " + c.Code + "."})
	}
	return []group{
		{"training-step", "Step", "Where the training of a rotation stands.", named(readiness.Steps[:], words.Step)},
		{"red-flag", "Red flag", "What calls for an examination before any load.", named(redflag.Codes[:], words.FlagName)},
		{"overall-status", "Overall status", "The status of the shoulder.", named(readiness.Overalls[:], words.Overall)},
		{"verdict", "Verdict", "What became of a criterion.", named(upTo(readiness.NotMeasured, readiness.NotApplicable), words.Verdict)},
		{"rule", "Rule", "The rules that criteria follow.", named(readiness.Rules[:], words.Rule)},
		{"criterion", "Criterion", "A rule in an arm position; the component that has its verdict.", verdicts},
		{"criterion-value", "Value of a criterion", "The component that has what was held against the threshold of a criterion.", values},
		{"certainty", "Certainty", "How sure it is that the true value meets a threshold.", named(upTo(measure.ClearlyNot, measure.ClearlyMet), words.Certainty)},
		demandGroup(),
		{"change-direction", "Direction of a change", "What a change comes to, where no standard interpretation says it.", named(upTo(measure.PossiblyDeclined, measure.PossiblyImproved), words.Direction)},
		{"outlook", "Outlook", "What the course says about evenness.", named(course.Prospects[:], words.Outlook)},
	}
}

// criteria are rules in all arm positions that they are applied in.
func criteria(rules ...readiness.Rule) (all []concept) {
	for _, r := range rules {
		for _, p := range positionsOf(r) {
			all = append(all, criterion(r, p))
		}
	}
	return all
}

// functionRules are what functional work needs beside strength and range. They are
// about the shoulder and not about one rotation.
var functionRules = []readiness.Rule{
	readiness.AllMeasured, readiness.AllEvenProbable, readiness.RestPainLow, readiness.TestPainLow, readiness.WorstPainKnown, readiness.FunctionPermitted, readiness.OutcomeForFunction, readiness.OtherRotationEven,
}

// positionsOf are the arm positions that a rule is applied in; a rule about the
// tissue, or about functional work, is about no position.
func positionsOf(r readiness.Rule) []shoulder.ArmPosition {
	if r == readiness.TissueHealed || r == readiness.OutcomeAcceptable || slices.Contains(functionRules, r) {
		return []shoulder.ArmPosition{shoulder.PositionUnstated}
	}
	return shoulder.TrainedPositions[:]
}

func criterion(r readiness.Rule, p shoulder.ArmPosition) concept {
	return concept{record.CriterionCode(r, p), wording.Capital(words.Rule(r)), definitions[r.String()]}.in(p)
}

// planGroups are the codes of the plan.
func planGroups() []group {
	var irritability []concept
	for _, i := range upTo(plan.IrritabilityUnknown, plan.LowIrritability) {
		code := "irritability-" + i.String()
		irritability = append(irritability, concept{code, "Irritability " + words.Irritability(i), definitions[code]})
	}
	return []group{
		{"irritability", "Irritability", "How easily the shoulder is provoked.", irritability},
		{"exercise-purpose", "Purpose of an exercise", "Why an exercise is in the plan.", named(upTo(plan.Strengthen, plan.FullFunction), words.Purpose)},
		{"goal-aim", "Aim of a goal", "What a goal is about.", coded(
			plan.AimGoodEnough.String(), "Strong enough to move on",
			plan.AimEven.String(), "Even with the other side",
			plan.AimEvenAll.String(), "Even in all three positions",
			plan.AimRange.String(), "Active range",
			plan.AimPain.String(), "Pain",
		)},
		{"request", "Request", "What is asked for next.", coded(
			plan.AskStrength.String(), "Strength of both sides",
			plan.AskRange.String(), "Active range",
			plan.AskPain.String(), "Pain",
			plan.AskSteadiness.String(), "Steadiness of the arm when held free",
			plan.AskClearance.String(), "Clearance for resisted work",
			plan.AskRepairDate.String(), "Date of the cuff repair",
			plan.AskExamination.String(), "Examination of the shoulder",
			plan.AskSurgeon.String(), "Contact with the surgeon",
			plan.AskSides.String(), "Whether the sides were exchanged",
			plan.AskUnit.String(), "Whether the unit is right",
			plan.AskComparison.String(), "Strength of the comparison side",
			plan.AskRestPain.String(), "Pain at rest",
			plan.AskWorstPain.String(), "Worst pain of the day",
			plan.AskComplete.String(), "Everything in one session",
			plan.AskRecord.String(), "The complete record",
			plan.AskOutcome.String(), "Outcome measure",
			plan.AskPassive.String(), "Passive range",
		)},
		{"caution", "Caution", "What the reader must not lose sight of.", cautions()},
	}
}

// cautions are defined by the very sentences that answers carry.
func cautions() []concept {
	var all []concept
	for _, c := range upTo(plan.SupportsJudgement, plan.GrowingPatient) {
		all = append(all, concept{c.String(), cautionNames[c], words.Caution(c)})
	}
	return all
}

var cautionNames = [...]string{
	plan.SupportsJudgement:   "Supports a clinician's judgement",
	plan.LocalRulesGovern:    "Local rules govern",
	plan.ReferFirst:          "Findings to refer first",
	plan.RotatorsOnly:        "Rotators of the cuff only",
	plan.SurgeonGoverns:      "The surgeon's protocol governs",
	plan.HealingTissue:       "Healing tissue",
	plan.OneSession:          "One session only",
	plan.BothSidesWeak:       "Both sides weak",
	plan.NoUnaffectedSide:    "No unaffected side",
	plan.PainNotRecorded:     "Pain not recorded",
	plan.PainWithoutContext:  "Pain without its context",
	plan.ManualTestLimits:    "Limits of the manual test",
	plan.FlexionErrorUnknown: "Error in flexion not published",
	plan.GrowingPatient:      "Growing patient",
}

// inputIssues are the codes of our second code system: what can be wrong with
// an input.
func inputIssues() []concept {
	var all []concept
	for _, k := range fault.Kinds() {
		all = append(all, concept{k.String(), k.Display(), kindDefinitions[k]})
	}
	return all
}
