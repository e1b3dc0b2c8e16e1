package fhirapi

import (
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// planDefinition is a FHIR PlanDefinition.
type planDefinition struct {
	about
	Kind            *codeableConcept  `json:"type"`
	Usage           string            `json:"usage"`
	RelatedArtifact []relatedArtifact `json:"relatedArtifact"`
	Goal            []planGoal        `json:"goal"`
	Action          []action          `json:"action"`
}

type planGoal struct {
	ID          string            `json:"id"`
	Category    *codeableConcept  `json:"category"`
	Description *codeableConcept  `json:"description"`
	Documents   []relatedArtifact `json:"documentation"`
	Target      []planTarget      `json:"target"`
}

type planTarget struct {
	Measure        *codeableConcept `json:"measure"`
	DetailQuantity quantity         `json:"detailQuantity"`
	Due            quantity         `json:"due"`
}

type action struct {
	Title               string             `json:"title"`
	Description         string             `json:"description,omitempty"`
	Code                []*codeableConcept `json:"code,omitempty"`
	Documentation       []relatedArtifact  `json:"documentation,omitempty"`
	GoalID              []string           `json:"goalId,omitempty"`
	TimingRange         *rangeOf           `json:"timingRange,omitempty"`
	DefinitionCanonical string             `json:"definitionCanonical,omitempty"`
	Action              []action           `json:"action,omitempty"`
}

type rangeOf struct {
	Low  quantity `json:"low"`
	High quantity `json:"high"`
}

// protocolResources are the PlanDefinition of a protocol and its
// ActivityDefinitions.
func protocolResources(p *protocol.Protocol) []Resource {
	about := aboutProtocol(p, "PlanDefinition", p.ID, p.Title,
		"How the training of the shoulder's rotators proceeds through three arm positions: the red flags, doubts, phases of healing and criteria with their thresholds and sources, the steps, the exercises and the re-check.")
	flags, doubts, phases, criteria := flagActions(p), doubtActions(p), phaseActions(p), criterionActions(p)
	about.Text = narrate(p.Title, append([]string{about.Description}, lines(slices.Concat(flags, doubts, phases, criteria))...)...)
	return append(activityDefinitions(p), recheck(p), resource("PlanDefinition", p.ID, planDefinition{
		about: about,
		Kind: conceptOf(coding{
			System:  "http://terminology.hl7.org/CodeSystem/plan-definition-type",
			Code:    "clinical-protocol",
			Display: "Clinical Protocol",
		}),
		Usage:           "Evenreach applies it by the operation $assess-shoulder, which proposes; a licensed clinician decides.",
		RelatedArtifact: citations(p),
		Goal:            planGoals(p),
		Action: slices.Concat([]action{
			{Title: "Red flags", Description: "Each calls for an examination before any load, " + words.Amount(p.RedFlag.Examine) + " at the latest, and keeps every exercise out of the plan.",
				Documentation: []relatedArtifact{cite(p.RedFlag.Examine.Source)}, Action: flags},
			{Title: "Doubts", Description: "Each asks to repeat a measurement or to have it confirmed before it decides anything.", Action: doubts},
			{Title: "Healing", Description: "How much load a cuff repair permits; the operating surgeon's own statement goes before the weeks, and a clearance opens the first load at the side and no more.", Action: phases},
			{Title: "Criteria", Description: "Each is held against its threshold in each arm position.", Action: criteria},
			{Title: "Methods", Description: "How the numbers come about that the criteria are read with.", Action: methodActions(p)},
		}, demandActions(p), []action{
			{Title: "Steps", Description: "The open step of each rotation follows from the criteria.", Action: stepActions()},
			{Title: "Exercises", Description: "At the open step; the resistance follows irritability.", Action: exerciseActions(p)},
			recheckAction(p),
		}),
	}))
}

// lines are actions in words.
func lines(actions []action) (all []string) {
	for _, a := range actions {
		all = append(all, a.Title+": "+a.Description)
	}
	return all
}

// aboutProtocol begins a resource of a protocol. A clinic's own protocol is not
// published by us.
func aboutProtocol(p *protocol.Protocol, typeName, id, title, description string) about {
	a := describe(typeName, id, title, description)
	a.Version = p.Version
	if p.ID != protocol.Default().ID {
		a.Publisher, a.Date = "", ""
	}
	return a
}

// cite is a source of the protocol.
func cite(source string) relatedArtifact {
	return relatedArtifact{Type: "citation", Citation: source}
}

// criterionActions are the rules with their thresholds in words.
func criterionActions(p *protocol.Protocol) []action {
	resisted, resistedSources := afterRepair(&p.Tissue, shoulder.LoadSubmaximalAtSide)
	elevated, elevatedSources := afterRepair(&p.Tissue, shoulder.LoadElevated)
	functional, functionalSources := afterRepair(&p.Tissue, shoulder.LoadFunctional)
	grade := words.Threshold(p.Symmetry.GoodEnough) + ", or a manual grade of " + p.Grade.GoodEnough.Value.String() + " or more"
	confirmed := "two sessions " + words.Threshold(p.Symmetry.ConfirmAfter) + " and " + words.Threshold(p.Symmetry.ConfirmWithin) +
		" apart"
	actions := []action{
		criterionAction(readiness.TissueHealed, resisted, resistedSources...),
		criterionAction(readiness.LoadPermitted, "at the side as for any resisted work; elevated "+elevated, elevatedSources...),
		criterionAction(readiness.PainAcceptable, words.Threshold(p.Pain.Gate), p.Pain.Gate.Source),
		criterionAction(readiness.RangeOpen, words.Threshold(p.Range.Fraction), p.Range.Fraction.Source),
		criterionAction(readiness.RangeMinimum, words.Threshold(p.Range.Minimum), p.Range.Minimum.Source),
		criterionAction(readiness.GoodEnough, grade, p.Symmetry.GoodEnough.Source, p.Grade.GoodEnough.Source),
		criterionAction(readiness.ArmSteady, "as observed"),
		criterionAction(readiness.Even, words.Threshold(p.Symmetry.Even), p.Symmetry.Even.Source),
		criterionAction(readiness.EvenConfirmed, confirmed, p.Symmetry.ConfirmAfter.Source, p.Symmetry.ConfirmWithin.Source),
		criterionAction(readiness.AllMeasured, "an age of "+words.Threshold(p.Symmetry.Latest)+", counted from the latest session", p.Symmetry.Latest.Source),
		criterionAction(readiness.AllEvenProbable, "a probability of "+words.Threshold(p.Course.AllEven)+" from all sessions before the latest", p.Course.AllEven.Source),
		criterionAction(readiness.RestPainLow, words.Threshold(p.Function.Pain), p.Function.Pain.Source),
		criterionAction(readiness.TestPainLow, words.Threshold(p.Function.Pain), p.Function.Pain.Source),
		criterionAction(readiness.WorstPainKnown, "any score"),
		criterionAction(readiness.OtherRotationEven, "evenness confirmed in all positions"),
		criterionAction(readiness.FunctionPermitted, functional, functionalSources...),
	}
	for i := range p.OutcomeMeasures {
		if m := &p.OutcomeMeasures[i]; m.Gate != nil {
			needed := words.Outcome(m) + " " + words.Threshold(*m.Gate)
			actions = append(actions, criterionAction(readiness.OutcomeAcceptable, needed, m.Gate.Source), criterionAction(readiness.OutcomeForFunction, needed, m.Gate.Source))
		}
	}
	return actions
}

func criterionAction(r readiness.Rule, threshold string, sources ...string) action {
	return ruleAction(words.Rule(r), definitions[r.String()], threshold, ours(r.String()), sources)
}

func stepActions() (all []action) {
	for _, s := range readiness.Steps {
		all = append(all, action{
			Title:       wording.Capital(words.Step(s)),
			Description: definitions[s.String()],
			Code:        []*codeableConcept{conceptOf(ours(s.String()))},
		})
	}
	return all
}

func exerciseActions(p *protocol.Protocol) (all []action) {
	for _, e := range exercises(p) {
		all = append(all, action{
			Title:               e.title,
			Documentation:       []relatedArtifact{cite(e.dose.Source)},
			DefinitionCanonical: e.canonical(p),
		})
	}
	return all
}

func recheckAction(p *protocol.Protocol) action {
	return action{
		Title:               "Re-check",
		Documentation:       []relatedArtifact{cite(p.Recheck.Earliest.Source), cite(p.Recheck.WorseEarliest.Source)},
		TimingRange:         &rangeOf{amount(p.Recheck.Earliest), amount(p.Recheck.Latest)},
		DefinitionCanonical: canonical("ActivityDefinition", p.ID+recheckSuffix) + "|" + p.Version,
	}
}

// planGoals are the aims with their targets and due times.
func planGoals(p *protocol.Protocol) []planGoal {
	index := conceptOf(ours(fhir.CodeLimbSymmetryIndex))
	pain := conceptOf(coding{fhir.SystemLOINC, fhir.LOINCPainVerbalRating, "Pain severity - 0-10 verbal numeric rating [Score] - Reported"})
	flexion := conceptOf(coding{fhir.SystemLOINC, fhir.LOINCFlexionActive, "Shoulder Flexion Active Range of Motion Quantitative"})
	abduction := conceptOf(coding{fhir.SystemLOINC, fhir.LOINCAbductionActive, "Shoulder Abduction Active Range of Motion Quantitative"})
	near, due := amount(p.Goal.Near), amount(p.Goal.Due)
	goodEnough, even := limit(p.Symmetry.GoodEnough), limit(p.Symmetry.Even)
	return []planGoal{
		goal(plan.AimPain, p.Pain.Gate.Source, planTarget{pain, limit(p.Pain.Gate), near}),
		goal(plan.AimRange, p.Range.Fraction.Source,
			planTarget{flexion, opening(p.Range, p.Range.FullFlexion), near},
			planTarget{abduction, opening(p.Range, p.Range.FullAbduction), near}),
		goal(plan.AimGoodEnough, p.Symmetry.GoodEnough.Source, planTarget{index, goodEnough, near}),
		goal(plan.AimEven, p.Symmetry.Even.Source, planTarget{index, even, near}),
		goal(plan.AimEvenAll, p.Symmetry.Even.Source, planTarget{index, even, due}),
	}
}

func goal(aim plan.Aim, source string, targets ...planTarget) planGoal {
	return planGoal{
		ID:          aim.String(),
		Category:    conceptOf(coding{fhir.SystemGoalCategory, "physiotherapy", "Physiotherapy"}),
		Description: &codeableConcept{Coding: []coding{ours(aim.String())}, Text: definitions[aim.String()]},
		Documents:   []relatedArtifact{cite(source)},
		Target:      targets,
	}
}

// opening is the active range in degrees that opens an elevated position.
func opening(r protocol.Range, full protocol.Setting) quantity {
	degrees, _ := full.Value.Mul(r.Fraction.Value).Quo(exact.Int(100))
	if r.Minimum.Value.Cmp(degrees) > 0 {
		degrees = r.Minimum.Value
	}
	return amountOf(degrees, full.Unit)
}

func limit(t protocol.Threshold) quantity { return amountOf(t.Value, t.Unit) }
func amount(s protocol.Setting) quantity  { return amountOf(s.Value, s.Unit) }
func amountOf(n exact.Number, ucum string) quantity {
	return quantity{Value: &n, Unit: words.Unit(ucum), System: fhir.SystemUCUM, Code: ucum}
}
