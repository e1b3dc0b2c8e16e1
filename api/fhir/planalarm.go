package fhirapi

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/wording"
)

// flagActions are the red flags with their thresholds in words. They come before
// every criterion.
func flagActions(p *protocol.Protocol) []action {
	f := &p.RedFlag
	limit := words.Threshold
	within := ", against a session " + limit(f.Window) + " before"
	return []action{
		flagAction(redflag.SuddenStrengthLoss, "beyond error in "+limit(f.Tests)+" tests, "+limit(f.LargeFall)+" in one, "+limit(f.JointFall)+" in several together, or "+limit(f.GradeFall)+" grades"+within,
			f.Tests.Source, f.LargeFall.Source, f.JointFall.Source, f.GradeFall.Source, f.Window.Source, f.FalseAlarm.Source),
		flagAction(redflag.RangeLoss, limit(f.RangeFall)+within, f.RangeFall.Source, f.Window.Source),
		flagAction(redflag.NearZeroForce, limit(f.Force)+" or "+limit(f.Torque)+", or a manual grade of "+f.Grade.Value.String()+" or less",
			f.Force.Source, f.Torque.Source, f.Grade.Source),
		flagAction(redflag.CannotLift, "active elevation "+limit(f.Elevation)+" with "+limit(f.PassiveExcess)+" more passively, or with an external rotation index "+limit(f.WeakExternal),
			f.Elevation.Source, f.PassiveExcess.Source, f.WeakExternal.Source),
		flagAction(redflag.PainSurge, "a rise of "+limit(f.PainRise)+" to more than the limit of pain", f.PainRise.Source, p.Pain.Gate.Source),
		flagAction(redflag.HighRestPain, "at rest "+limit(f.RestPain)+", or worst of the day "+limit(f.WorstPain), f.RestPain.Source, f.WorstPain.Source),
		flagAction(redflag.ResistedBeforeClearance, "less than the week of the first load after a repair", p.Tissue.ResistedAfter.Source, p.Tissue.ResistedAfterMassive.Source),
	}
}

func flagAction(code redflag.Code, threshold string, sources ...string) action {
	return ruleAction(words.FlagName(code), definitions[code.String()], threshold, ours(code.String()), sources)
}

// ruleAction is a rule with its threshold in words and its sources.
func ruleAction(title, definition, threshold string, code coding, sources []string) action {
	a := action{
		Title:       wording.Capital(title),
		Description: definition + " Threshold: " + threshold + ".",
		Code:        []*codeableConcept{conceptOf(code)},
	}
	for _, s := range sources {
		a.Documentation = append(a.Documentation, cite(s))
	}
	return a
}

// doubtActions are the reasons to repeat or confirm a measurement, with their
// thresholds in words.
func doubtActions(p *protocol.Protocol) []action {
	d := &p.Doubt
	value := func(t protocol.Threshold) string { return words.Amount(protocol.Setting{Value: t.Value, Unit: t.Unit}) }
	return []action{
		doubtAction(measure.TrialsDisagree, "a trial more than "+value(d.TrialRatio)+" times the median or less than its inverse, or a coefficient of variation over "+value(d.TrialVariation),
			d.TrialRatio.Source, d.TrialVariation.Source),
		doubtAction(measure.SidesMayBeSwapped, "beyond error an index over "+value(d.IndexSingle)+", most of a session over "+value(d.IndexMost)+", or a session that fits the earlier ones far better exchanged",
			d.IndexSingle.Source, d.IndexMost.Source, p.RedFlag.FalseAlarm.Source),
		doubtAction(measure.UnitMayBeWrong, "scores that stand to the previous ones as two units of force do, within "+value(d.UnitTolerance),
			d.UnitTolerance.Source),
		doubtAction(measure.ComparisonDeclined, "beyond error a mean fall of "+words.Threshold(d.ComparisonFall)+", or of one test by "+words.Threshold(p.RedFlag.LargeFall),
			d.ComparisonFall.Source, p.RedFlag.LargeFall.Source, p.RedFlag.FalseAlarm.Source),
	}
}

func doubtAction(d measure.Doubt, threshold string, sources ...string) action {
	code := coding{System: fhir.SystemInputIssue, Code: d.String()}
	for _, issue := range inputIssues() {
		if issue.Code == code.Code {
			return ruleAction(words.DoubtName(d), issue.Definition, threshold, code, sources)
		}
	}
	panic("fhirapi: doubt " + d.String() + " is no input issue")
}

// phaseActions are the phases of load after a cuff repair with their first weeks.
func phaseActions(p *protocol.Protocol) []action {
	none := shoulder.LoadNone
	all := []action{ruleAction(words.LoadPhase(none), definitions[none.String()], "from the repair on", ours(none.String()), nil)}
	for _, phase := range shoulder.LoadPhases[1:] {
		weeks, sources := afterRepair(&p.Tissue, phase)
		all = append(all, ruleAction(words.LoadPhase(phase), definitions[phase.String()], weeks, ours(phase.String()), sources))
	}
	return all
}

// afterRepair says in words when time opens a phase, and gives the sources.
func afterRepair(t *protocol.Tissue, phase shoulder.LoadPhase) (weeks string, sources []string) {
	usual, massive := t.After(phase, false), t.After(phase, true)
	weeks = words.Threshold(usual) + " after a repair, " + words.Threshold(massive) + " if the tear is " + words.Threshold(t.Massive)
	return weeks, []string{usual.Source, massive.Source, t.Massive.Source}
}
