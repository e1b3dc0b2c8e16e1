package fhirapi

import (
	"slices"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
)

// methodActions are how the numbers of a result come about that are no criterion, each
// with the codes of its numbers and its sources.
func methodActions(p *protocol.Protocol) []action {
	e, s := &p.Error, &p.Symmetry
	all := []action{
		methodAction("Interval and probability of an index", []string{e.Interval.Source},
			fhir.CodeIntervalLow, fhir.CodeIntervalHigh, fhir.CodeProbabilityAtThreshold, fhir.CodeProbabilityGoodEnough),
		methodAction("Standard error of measurement",
			[]string{e.Stabilised.Source, e.Usual.Source, e.Unstabilised.Source, e.FloorForce.Source, e.FloorTorque.Source, p.Trials.Published.Source, p.Trials.Share.Source},
			fhir.CodeInvolvedError, fhir.CodeComparisonError),
		methodAction("Strength by body mass", []string{s.Weak.Source}, fhir.CodeInvolvedByMass, fhir.CodeComparisonByMass),
		methodAction("Index against other strengths of the comparison side", []string{p.Doubt.ComparisonFall.Source, p.RedFlag.Window.Source},
			fhir.CodeUsualIndex, fhir.CodeEarlierBestIndex),
		methodAction("Dominant side", []string{s.Dominance.External.Source, s.Dominance.InternalAtSide.Source, s.Dominance.InternalElevated.Source},
			fhir.CodeDominantAdjustedIndex),
		methodAction("Change against measurement error", []string{e.Change.Source, p.Range.Change.Source, p.Range.ChangeOtherExaminer.Source, p.Pain.Change.Source},
			fhir.CodeStrengthChange, fhir.CodeRangeChange, fhir.CodePainChange, fhir.CodeDetectablePrevious, fhir.CodeDetectableBaseline,
			fhir.CodeChangePrevious, fhir.CodeChangeBaseline),
		methodAction("Ratio of external to internal rotation", []string{p.Ratio.AtSide.Source, p.Ratio.Flexion90.Source, p.Ratio.Abduction90.Source}, fhir.CodeRotationRatio),
	}
	return append(all, courseActions(p)...)
}

// methodAction is how some numbers come about.
func methodAction(title string, sources []string, codes ...string) action {
	a := action{Title: title}
	for _, code := range codes {
		a.Code = append(a.Code, conceptOf(ours(code)))
		a.Description += " " + definitions[code]
	}
	a.Description = strings.TrimSpace(a.Description)
	for _, s := range sources {
		a.Documentation = append(a.Documentation, cite(s))
	}
	return a
}

// courseSources are those of what the model of the course assumes, each once.
func courseSources(p *protocol.Protocol) (sources []string) {
	c := &p.Course
	for _, s := range [...]protocol.Setting{
		c.ErrorSpread, c.BothSides, c.LeastDay, c.Plateau, c.PlateauSpread, c.TestSpread, c.Gap, c.GapSpread, c.StableGap,
		c.Fast, c.Slow, c.ComparisonDrift, c.PlateauDrift, c.TestDrift, c.GapDrift,
	} {
		if !slices.Contains(sources, s.Source) {
			sources = append(sources, s.Source)
		}
	}
	return sources
}
