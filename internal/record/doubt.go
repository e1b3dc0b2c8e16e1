package record

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// doubtKinds are the kinds of input issues for each doubt.
var doubtKinds = [...]fault.Kind{
	measure.TrialsDisagree:     fault.TrialsDisagree,
	measure.SidesMayBeSwapped:  fault.SidesMayBeSwapped,
	measure.UnitMayBeWrong:     fault.UnitMayBeWrong,
	measure.ComparisonDeclined: fault.ComparisonDeclined,
}

// doubtConcept is the code of a doubt, which is that of an input issue.
func (b *builder) doubtConcept(d measure.Doubt) *fhir.CodeableConcept {
	kind := doubtKinds[d]
	return &fhir.CodeableConcept{
		Coding: []fhir.Coding{{System: fhir.SystemInputIssue, Code: kind.String(), Display: kind.Display()}},
		Text:   b.w.DoubtName(d),
	}
}

// doubtsAbout are the doubts about the scores of an index.
func (b *builder) doubtsAbout(s *measure.Symmetry) (doubts []*measure.DoubtFound) {
	for i := range b.a.Measurements.Doubts {
		if d := &b.a.Measurements.Doubts[i]; isAbout(d, s.Involved) || isAbout(d, s.Comparison) {
			doubts = append(doubts, d)
		}
	}
	return doubts
}

// isAbout reports whether a doubt is about a score: about its trials, its session, or all
// tests of its side in that session.
func isAbout(d *measure.DoubtFound, s *measure.Score) bool {
	switch d.Doubt {
	case measure.TrialsDisagree:
		return d.Score == s
	case measure.ComparisonDeclined:
		return d.Session == s.Session && d.Score.Side == s.Side
	}
	return d.Session == s.Session && s.Doubts.Has(d.Doubt)
}

// interpretIndex interprets an index by the threshold of evenness. An index in doubt is
// only equivocal, because it decides nothing. One whose comparison side lost strength is
// equivocal in addition to its interpretation.
func (b *builder) interpretIndex(s *measure.Symmetry, doubts []*measure.DoubtFound) (all []fhir.CodeableConcept) {
	if !s.Doubtful() {
		all = append(all, interpretAgainst(s.Index, b.a.Protocol.Symmetry.Even)...)
	}
	for _, d := range doubts {
		doubt := b.doubtConcept(d.Doubt)
		doubt.Coding = []fhir.Coding{equivocal.Coding[0], doubt.Coding[0]}
		all = append(all, *doubt)
	}
	return all
}

func (b *builder) appendDoubts(all []fhir.Component, doubts []*measure.DoubtFound) []fhir.Component {
	for _, d := range doubts {
		all = append(all, component(fhir.CodeDoubt, b.doubtConcept(d.Doubt)))
	}
	return all
}

func (b *builder) doubtTexts(doubts []*measure.DoubtFound) []string {
	texts := make([]string, len(doubts))
	for i, d := range doubts {
		texts[i] = b.w.Doubt(d)
	}
	return texts
}

// appendEarlier adds how a deciding index compares with earlier sessions: that it was even
// before, and, of one that is even, the index against the usual strength of the comparison
// side, which a confirmation rests on.
func (b *builder) appendEarlier(all []fhir.Component, p *readiness.PositionReadiness) []fhir.Component {
	even := b.a.Protocol.Symmetry.Even
	if p.WasEven != nil {
		all = append(all,
			component(fhir.CodeWasEven, b.measured(p.WasEven.Index, "%", even.Value)),
			component(fhir.CodeWasEvenDate, fhir.DateTime(b.dateTime(p.WasEven.When))))
	}
	if p.Usual != nil && even.Met(p.Symmetry.Index) {
		all = append(all, component(fhir.CodeUsualIndex, b.measured(*p.Usual, "%", even.Value)))
	}
	return all
}

// appendEarlierBest adds the index against the best strength of the comparison side in the
// last weeks, if that side lost strength since.
func (b *builder) appendEarlierBest(all []fhir.Component, s *measure.Symmetry) []fhir.Component {
	even := b.a.Protocol.Symmetry.Even
	best := b.a.EarlierBest(s)
	if best == nil {
		return all
	}
	index, ok := s.Against(best.Value)
	if !ok {
		return all
	}
	return append(all,
		component(fhir.CodeEarlierBestIndex, b.measured(index, "%", even.Value)),
		component(fhir.CodeEarlierBestDate, fhir.DateTime(b.dateTime(best.When))))
}

// appendDominance names the dominant side, and what the published difference
// between the sides would do to the index.
func (b *builder) appendDominance(all []fhir.Component, s *measure.Symmetry) []fhir.Component {
	if s.Dominant == shoulder.SideUnknown {
		return all
	}
	return append(all,
		component(fhir.CodeDominantSide, b.coded(s.Dominant)),
		component(fhir.CodeDominantAdjustedIndex, b.measured(s.Adjusted, "%", b.a.Protocol.Symmetry.Even.Value)))
}

// standardError is the standard error of a score in per cent of it. A score of 0 has
// none.
func (b *builder) standardError(code string, s *measure.Score) fhir.Component {
	var percent *fhir.Quantity
	if value := s.Value.Float64(); value > 0 {
		percent = b.estimate(100*s.SEM()/value, 1, "%")
	}
	return component(code, percent)
}
