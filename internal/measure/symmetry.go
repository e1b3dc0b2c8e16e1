package measure

import (
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Symmetry is the limb symmetry index of one test in one session.
type Symmetry struct {
	Setting
	Session    int // of the involved side
	When       time.Time
	Involved   *Score
	Comparison *Score
	// CarriedForward says that the comparison side's score is from an earlier
	// session, Days before.
	CarriedForward bool
	Days           int
	// Dimension is what was divided: forces, or torques by the lever arms.
	Dimension shoulder.Dimension
	// LeverEstimated says that a force became a torque by an estimated lever arm.
	LeverEstimated bool
	// Index is 100 x involved / comparison in per cent, not clamped, after
	// the correction for dominance if there is one.
	Index exact.Number
	// Dominance is the factor by which the index was corrected, 1 for none.
	Dominance exact.Number
	// Dominant is the dominant side, if it is recorded, and Adjusted the index as
	// it would be after the published difference between the sides; the same as
	// Index if no difference is published or the correction is made anyway.
	Dominant shoulder.Side
	Adjusted exact.Number
	Interval Interval // of the index, in per cent
	// Steady is the interval without the increase for pain. It decides whether a fall is
	// beyond error, so that more pain never hides one.
	Steady Interval
	// Probabilities that the true index reaches the protocol's thresholds.
	ProbabilityGoodEnough float64
	ProbabilityEven       float64
}

// Doubtful reports whether one of the scores has to be repeated or confirmed
// before the index decides anything.
func (s *Symmetry) Doubtful() bool { return s.Involved.Doubts.Block() || s.Comparison.Doubts.Block() }

// Beyond reports whether the index is on its side of a threshold by more than measurement
// error, by the interval without the increase for pain.
func (s *Symmetry) Beyond(threshold protocol.Threshold) bool {
	return !s.Steady.Contains(threshold.Value.Float64())
}

// LowerEndAtLeast reports whether the lower end of the interval reaches a threshold, so
// that the index is certain enough to act on.
func (s *Symmetry) LowerEndAtLeast(threshold protocol.Threshold) bool {
	return s.Interval.Bounds == Bounded && s.Interval.Low >= threshold.Value.Float64()
}

// Tells reports whether the strengths are large enough for their error to tell how the sides
// compare: the lower end of the interval is at least a share of the index, in per cent. Near the
// measuring floor 11 of 11 N may as well be 23 as 430 %. The increase for pain has no part in it.
func (s *Symmetry) Tells(share protocol.Threshold) bool {
	return s.Steady.Bounds == Bounded && s.Steady.Low*100 >= share.Value.Float64()*s.Index.Float64()
}

// Sources lists the inputs of both sides, ascending.
func (s *Symmetry) Sources() []shoulder.SourceID {
	return Union(s.Involved.Sources, s.Comparison.Sources)
}

// Unpaired is a score of the involved side without one of the comparison side to compare
// with.
type Unpaired struct {
	Involved *Score
	Reason   Mismatch
	// Nearest is the comparison side's score that came closest, nil if the
	// position was not measured there at all.
	Nearest *Score
}

// Mismatch is why two scores may not be compared.
type Mismatch uint8

// The mismatches, from the one that a re-test removes most easily.
const (
	NoComparison Mismatch = iota
	TooOld
	SupportDiffers
	ContractionDiffers
	InstrumentDiffers
	DimensionDiffers
	ComparisonZero
)

// String names the mismatch.
func (m Mismatch) String() string {
	return [...]string{
		"no-comparison", "too-old", "support-differs", "contraction-differs",
		"instrument-differs", "dimension-differs", "comparison-zero",
	}[m]
}

// Symmetries pairs each score of the involved side with the comparison side's: the same
// session's, else the latest one before that is young enough. Scores pair only if setting
// and dimension agree. Both lists are in the order of the scores. They are empty for an
// episode without an unaffected side.
func Symmetries(e *shoulder.Episode, scores []Score, p *protocol.Protocol) (paired []Symmetry, unpaired []Unpaired) {
	if e.ComparisonAffected {
		return nil, nil
	}
	z := quantile(p.Error.Interval.Float())
	found := newPartners()
	upTo := 0 // end of the involved score's session
	for i := range scores {
		involved := &scores[i]
		for ; upTo < len(scores) && scores[upTo].Session <= involved.Session; upTo++ {
			if scores[upTo].Side != e.Involved {
				found.add(&scores[upTo])
			}
		}
		if involved.Side != e.Involved {
			continue
		}
		partner, reason := found.partnerOf(involved, p)
		if reason != matched {
			unpaired = append(unpaired, Unpaired{involved, reason, partner})
			continue
		}
		s, ok := symmetryOf(involved, partner, e, p, z)
		if !ok {
			unpaired = append(unpaired, Unpaired{involved, ComparisonZero, partner})
			continue
		}
		if paired == nil {
			paired = make([]Symmetry, 0, countSide(scores[i:], e.Involved))
		}
		paired = append(paired, s)
	}
	return paired, unpaired
}

func countSide(scores []Score, side shoulder.Side) (n int) {
	for i := range scores {
		if scores[i].Side == side {
			n++
		}
	}
	return n
}

// matched stands for no mismatch.
const matched Mismatch = 255

func mismatch(a, b *Score) Mismatch {
	switch {
	case a.Contraction != b.Contraction:
		return ContractionDiffers
	case a.Instrument != b.Instrument:
		return InstrumentDiffers
	case a.Support != b.Support:
		return SupportDiffers
	case a.Dimension != b.Dimension && (a.Torque == nil || b.Torque == nil):
		return DimensionDiffers
	}
	return matched
}

// compareTorques reports whether both torques are known. An estimated lever arm
// serves only where forces cannot be compared at all.
func compareTorques(a, b *Score) bool {
	bothForces := a.Dimension == shoulder.Force && b.Dimension == shoulder.Force
	estimated := a.LeverEstimated || b.LeverEstimated
	return a.Torque != nil && b.Torque != nil && (!bothForces || !estimated)
}

// symmetryOf divides the scores. When both sides' torques are known they are
// compared, because equal forces on different lever arms are not equal
// strength. It reports false for a comparison side of zero.
func symmetryOf(involved, comparison *Score, e *shoulder.Episode, p *protocol.Protocol, z float64) (Symmetry, bool) {
	s := Symmetry{
		Setting: involved.Setting, Session: involved.Session, When: involved.When,
		Involved: involved, Comparison: comparison,
		CarriedForward: comparison.Session != involved.Session,
		Days:           daysBefore(comparison, involved),
		Dominance:      DominanceFactor(e, involved.Setting, p),
	}
	i, u := involved.Value, comparison.Value
	if compareTorques(involved, comparison) {
		s.LeverEstimated = involved.LeverEstimated || comparison.LeverEstimated
		s.Dimension, i, u = shoulder.Torque, *involved.Torque, *comparison.Torque
	}
	ratio, ok := i.Quo(u)
	if !ok {
		return Symmetry{}, false
	}
	s.Index = ratio.Mul(exact.Int(100)).Mul(s.Dominance)
	s.Dominant, s.Adjusted = e.Handedness.Dominant(), s.Index
	if s.Dominant != shoulder.SideUnknown && !p.Symmetry.Dominance.Enabled {
		s.Adjusted = s.Index.Mul(expectedFactor(e, involved.Setting, p))
	}
	k := s.Dominance.Float64()
	a, b := i.Float64()*k, u.Float64()
	sa, sb := k*involved.semIn(s.Dimension, i.Float64(), Error.At, p), comparison.semIn(s.Dimension, b, Error.At, p)
	s.Interval = Fieller(a, sa, b, sb, z).scaled(100).ofStrength()
	s.Steady = s.Interval
	if involved.Error.Percent != involved.Error.Steady || comparison.Error.Percent != comparison.Error.Steady {
		s.Steady = Fieller(a, k*involved.semIn(s.Dimension, i.Float64(), Error.SteadyAt, p), b,
			comparison.semIn(s.Dimension, b, Error.SteadyAt, p), z).scaled(100).ofStrength()
	}
	s.ProbabilityGoodEnough = ProbabilityAtLeast(p.Symmetry.GoodEnough.Value.Float64()/100, a, sa, b, sb)
	s.ProbabilityEven = ProbabilityAtLeast(p.Symmetry.Even.Value.Float64()/100, a, sa, b, sb)
	return s, true
}

// DominanceFactor is the factor that corrects the index for the stronger dominant
// side, 1 unless the protocol asks for it and the dominant side is known.
func DominanceFactor(e *shoulder.Episode, s Setting, p *protocol.Protocol) exact.Number {
	if !p.Symmetry.Dominance.Enabled || e.Handedness.Dominant() == shoulder.SideUnknown {
		return exact.Int(1)
	}
	return expectedFactor(e, s, p)
}

// expectedFactor is what an index is multiplied by so that sides that differ as
// published come to 100 %. The dominant side is known.
func expectedFactor(e *shoulder.Episode, s Setting, p *protocol.Protocol) exact.Number {
	one := exact.Int(1)
	expected := p.Symmetry.Dominance.Expected(s.Motion, s.Position).Value
	if e.Handedness.Dominant() != e.Involved {
		return expected
	}
	if inverse, ok := one.Quo(expected); ok {
		return inverse
	}
	return one
}

// daysBefore is how many days one score is from before another.
func daysBefore(earlier, later *Score) int {
	if earlier.Session == later.Session {
		return 0
	}
	return DaysBetween(earlier.When, later.When)
}

// DaysBetween counts calendar days, each date in its own offset, so that a
// visit in the evening and one the next morning are a day apart.
func DaysBetween(from, to time.Time) int {
	return int(dayOf(to) - dayOf(from))
}

// dayOf numbers the calendar days.
func dayOf(t time.Time) int64 {
	const seconds = 24 * 60 * 60
	_, offset := t.Zone()
	local := t.Unix() + int64(offset)
	day := local / seconds
	if local < day*seconds { // before 1970
		day--
	}
	return day
}
