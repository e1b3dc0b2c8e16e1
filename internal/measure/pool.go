package measure

import (
	"math"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"evenreach.example/internal/protocol"
)

// Pooled is the present symmetry estimated from all sessions of one rotation and position:
// by a local-level model, in which the true index drifts from week to week and each
// session measures it with error. It is less noisy than the last session alone, and lags
// behind a fast change.
//
// Source: the local-level model and its filter, Kalman 1960, J Basic Eng
// 82:35-45, on the logarithm of the index.
type Pooled struct {
	Sessions  int
	Index     float64 // per cent
	Low, High float64 // interval at the protocol's confidence, per cent
	// ProbabilityEven is the probability that the true index reaches the
	// threshold of evenness.
	ProbabilityEven float64
}

// Pool is the filter of one series of indices, oldest first. The zero Pool has no index
// yet.
type Pool struct {
	sessions        int
	level, variance float64 // of the logarithm of the index
	last            time.Time
}

// Next updates the filter with the next session. Two indices of one day are two
// measurements of the same state.
func (f *Pool) Next(s *Symmetry, p *protocol.Protocol) {
	y, r := logIndex(s)
	if f.sessions == 0 {
		f.level, f.variance = y, r
	} else {
		drift := p.Symmetry.Drift.Float() / 100
		weeks := float64(DaysBetween(f.last, s.When)) / daysPerWeek
		predicted := f.variance + drift*drift*weeks
		gain := predicted / (predicted + r)
		f.level += gain * (y - f.level)
		f.variance = predicted * (1 - gain)
	}
	f.sessions, f.last = f.sessions+1, s.When
}

// Pooled is the estimate from all sessions so far; there is at least one.
func (f *Pool) Pooled(p *protocol.Protocol) Pooled {
	reach := quantile(p.Error.Interval.Float()) * math.Sqrt(f.variance)
	return Pooled{
		Sessions: f.sessions, Index: 100 * math.Exp(f.level),
		Low: 100 * math.Exp(f.level-reach), High: 100 * math.Exp(f.level+reach),
		ProbabilityEven: f.probabilityEven(p),
	}
}

func (f *Pool) probabilityEven(p *protocol.Protocol) float64 {
	spread := math.Sqrt(f.variance)
	threshold := math.Log(p.Symmetry.Even.Value.Float64() / 100)
	switch {
	case spread > 0:
		return distuv.UnitNormal.CDF((f.level - threshold) / spread)
	case f.level >= threshold:
		return 1
	}
	return 0
}

// smallestIndex, in per cent, keeps the logarithm finite for a side without strength.
const smallestIndex = 1

// logIndex is the logarithm of the index and its variance by the delta method.
// Both errors are taken at the comparison side's strength: a weaker involved side
// must not count as less certain, or weakness would weigh less than strength.
func logIndex(s *Symmetry) (y, variance float64) {
	y = math.Log(math.Max(s.Index.Float64(), smallestIndex) / 100)
	comparison := s.Comparison.Value.Float64()
	involved := s.Involved.Error.Steady / 100
	if s.Involved.Dimension == s.Comparison.Dimension {
		involved = relativeAt(comparison, s.Involved.Error.SteadyAt(comparison))
	}
	relative := math.Hypot(involved, relativeAt(comparison, s.Comparison.Error.SteadyAt(comparison)))
	return y, relative * relative
}
