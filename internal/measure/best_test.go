package measure

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// The best result is the highest that is believed, of one test alone.
func TestBest(t *testing.T) {
	score := func(value string, more func(*Score)) Score {
		s := Score{Setting: Setting{Motion: shoulder.External, Position: shoulder.AtSide}, Side: shoulder.Right, Value: exact.MustParse(value)}
		if more != nil {
			more(&s)
		}
		return s
	}
	m := &Measurements{
		Scores: []Score{
			score("50", nil), score("70", nil), score("60", nil),
			score("90", func(s *Score) { s.Doubts.add(UnitMayBeWrong) }),
			score("95", func(s *Score) { s.Contraction = shoulder.Break }),
			score("99", func(s *Score) { s.Side = shoulder.Left }),
		},
		Ranges: []RangeScore{{Movement: shoulder.Flexion, Degrees: exact.Int(150)}, {Movement: shoulder.Flexion, Degrees: exact.Int(120)}, {Movement: shoulder.Abduction, Degrees: exact.Int(170)}},
		Pains:  []PainScore{{Score: exact.Int(4)}, {Score: exact.Int(2)}, {Score: exact.Int(3)}, {Context: shoulder.PainAtRest}},
	}
	weaker := score("60", func(s *Score) { s.Doubts.add(ComparisonDeclined) })
	m.Symmetries = []Symmetry{
		{Involved: &m.Scores[0], Comparison: &m.Scores[1], Index: exact.Int(71)},
		{Involved: &m.Scores[2], Comparison: &m.Scores[1], Index: exact.Int(86)},
		{Involved: &m.Scores[2], Comparison: &weaker, Index: exact.Int(100)},
		{Involved: &m.Scores[3], Comparison: &m.Scores[1], Index: exact.Int(129)},
	}
	for _, tt := range []struct {
		name string
		got  exact.Number
		want int64
	}{
		{"strength, not in doubt, tested alike", m.BestScore(&m.Scores[0]).Value, 70},
		{"index, neither in doubt nor against a side that lost strength", m.BestIndex(&m.Symmetries[0]).Index, 86},
		{"range of the movement", m.BestRange(&m.Ranges[1]).Degrees, 150},
		{"least pain of the occasion", m.LeastPain(&m.Pains[0]).Score, 2},
	} {
		if tt.got.Cmp(exact.Int(tt.want)) != 0 {
			t.Errorf("%s: %v, want %d", tt.name, tt.got, tt.want)
		}
	}
	if got := m.BestScore(&m.Scores[3]); got == nil || got.Value.Cmp(exact.Int(70)) != 0 {
		t.Errorf("best beside a doubtful score is %v", got)
	}
	higher, lower := &protocol.OutcomeMeasure{}, &protocol.OutcomeMeasure{}
	higher.Better, lower.Better = protocol.Higher, protocol.Lower
	for _, of := range []*protocol.OutcomeMeasure{higher, lower} {
		m.Outcomes = append(m.Outcomes, OutcomeScore{Measure: of, Value: exact.Int(40)}, OutcomeScore{Measure: of, Value: exact.Int(60)})
	}
	if got := m.BestOutcome(&m.Outcomes[0]); got.Value.Cmp(exact.Int(60)) != 0 {
		t.Errorf("the highest is better, and best is %v", got.Value)
	}
	if got := m.BestOutcome(&m.Outcomes[2]); got.Value.Cmp(exact.Int(40)) != 0 {
		t.Errorf("the lowest is better, and best is %v", got.Value)
	}
}
