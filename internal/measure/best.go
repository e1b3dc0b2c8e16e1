package measure

// BestScore is the highest score of a test: of the same side, tested in the same way.
// Scores in doubt are left out; it is nil if all are in doubt.
func (m *Measurements) BestScore(of *Score) *Score {
	return best(m.Scores, func(s *Score) bool { return s.believed() && s.test() == of.test() },
		func(a, b *Score) bool { return a.Value.Cmp(b.Value) > 0 })
}

// BestIndex is the highest index of a test. Indices in doubt are left out, and those whose
// comparison side lost strength; it is nil if no other is left.
func (m *Measurements) BestIndex(of *Symmetry) *Symmetry {
	return best(m.Symmetries, func(s *Symmetry) bool {
		return s.believed() && !s.Comparison.Doubts.Has(ComparisonDeclined) && s.test() == of.test()
	}, func(a, b *Symmetry) bool { return a.Index.Cmp(b.Index) > 0 })
}

// BestRange is the furthest range of a test.
func (m *Measurements) BestRange(of *RangeScore) *RangeScore {
	return best(m.Ranges, func(r *RangeScore) bool { return r.test() == of.test() },
		func(a, b *RangeScore) bool { return a.Degrees.Cmp(b.Degrees) > 0 })
}

// LeastPain is the lowest score of a context and position.
func (m *Measurements) LeastPain(of *PainScore) *PainScore {
	return best(m.Pains, func(p *PainScore) bool { return p.test() == of.test() },
		func(a, b *PainScore) bool { return a.Score.Cmp(b.Score) < 0 })
}

// BestOutcome is the best value of an outcome measure.
func (m *Measurements) BestOutcome(of *OutcomeScore) *OutcomeScore {
	return best(m.Outcomes, func(s *OutcomeScore) bool { return s.Measure == of.Measure },
		func(a, b *OutcomeScore) bool { return worse(b.Value, a.Value, of.Measure.Better) })
}

// best is the best of the results that count, the first of equal ones; nil if none counts.
func best[Result any](results []Result, counts func(*Result) bool, better func(a, b *Result) bool) (found *Result) {
	for i := range results {
		if r := &results[i]; counts(r) && (found == nil || better(r, found)) {
			found = r
		}
	}
	return found
}
