package measure

import (
	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// ProbabilityAtLeast is the probability that the true index is at least a number, in per
// cent. Pain in the test enlarges the error, which brings any probability nearer to one
// half; that counts only where it makes it less, so that pain never speaks for a strength.
func (s *Symmetry) ProbabilityAtLeast(index exact.Number, p *protocol.Protocol) float64 {
	return min(s.probabilityAtLeast(index, Error.At, p), s.probabilityAtLeast(index, Error.SteadyAt, p))
}

func (s *Symmetry) probabilityAtLeast(index exact.Number, at func(Error, float64) float64, p *protocol.Protocol) float64 {
	involved, comparison := s.Involved.Value, s.Comparison.Value
	if s.Dimension == shoulder.Torque {
		involved, comparison = *s.Involved.Torque, *s.Comparison.Torque
	}
	k, a, b := s.Dominance.Float64(), involved.Float64(), comparison.Float64()
	return ProbabilityAtLeast(index.Float64()/100, k*a, k*s.Involved.semIn(s.Dimension, a, at, p), b, s.Comparison.semIn(s.Dimension, b, at, p))
}
