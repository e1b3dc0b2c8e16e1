package measure

import (
	"math"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Error is the standard error of measurement of a score: a share of the score, and never
// less than a floor, because the error does not vanish for small forces.
type Error struct {
	// Percent is the share, larger for a painful test. Intervals are made with it.
	Percent float64
	// Steady is the share without the increase for pain. Decisions use it, so that more
	// pain never makes a fall look smaller.
	Steady float64
	Floor  float64 // in the unit of the score
}

// At is the standard error of a score of a value, in its unit.
func (e Error) At(value float64) float64 { return math.Max(value*e.Percent/100, e.Floor) }

// SteadyAt is At without the widening for pain.
func (e Error) SteadyAt(value float64) float64 { return math.Max(value*e.Steady/100, e.Floor) }

// errorOf is the error of a score by its condition and its number of trials.
func errorOf(s *Score, p *protocol.Protocol) Error {
	_, steady := condition(s, false, p)
	k := trialFactor(s.Trials, p)
	return Error{Percent: k * s.ErrorPercent.Float(), Steady: k * steady.Float(), Floor: floorOf(s, p)}
}

// Parts is the relative standard error of a score, without the widening for pain, at
// a reference strength in its unit, in two parts: what is the score's own, and what
// all scores of the side share on the day. The day's part does not depend on the
// number of trials.
func (s *Score) Parts(reference float64, p *protocol.Protocol) (own, shared float64) {
	if reference <= 0 {
		return 1, 0
	}
	whole := s.Error.SteadyAt(reference) / reference
	published := math.Max(s.Error.Steady/100/trialFactor(s.Trials, p), s.Error.Floor/reference)
	shared = math.Sqrt(p.Error.Day.Float()/100) * published
	return math.Sqrt(math.Max(whole*whole-shared*shared, leastOwn*leastOwn)), shared
}

// leastOwn keeps a score from counting as exact. Ours: a thousandth is about the
// resolution of an instrument.
const leastOwn = 0.001

// floorOf is the least standard error of a score, in its unit.
func floorOf(s *Score, p *protocol.Protocol) float64 {
	if s.Dimension == shoulder.Torque {
		return p.Error.FloorTorque.Float()
	}
	return p.Error.FloorForce.Float()
}

// trialFactor is how much larger the error of a mean of n trials is than the
// published one. The variance is a part that stays and a part that the trials
// average out: 1 - share + share x published / n.
//
// Source: the variance of a mean in a nested design; the share is the protocol's.
func trialFactor(n int, p *protocol.Protocol) float64 {
	share := p.Trials.Share.Float() / 100
	return math.Sqrt(1 - share + share*p.Trials.Published.Float()/float64(max(n, 1)))
}

// relativeAt is the standard error of a score as a fraction of a value; 1 for a
// value of 0, of which nothing is known but that it is small.
func relativeAt(value, sem float64) float64 {
	if value <= 0 {
		return 1
	}
	return sem / value
}

// semIn is the standard error of a score in the dimension that is compared, when
// its value there is given.
func (s *Score) semIn(d shoulder.Dimension, value float64, at func(Error, float64) float64, p *protocol.Protocol) float64 {
	own := s.Value.Float64()
	switch {
	case d == s.Dimension:
		return at(s.Error, value)
	case own > 0:
		return at(s.Error, own) * value / own
	}
	return p.Error.FloorTorque.Float()
}
