package measure

import (
	"math"
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Subject is what a change is about.
type Subject uint8

// The subjects of change.
const (
	StrengthChange Subject = iota
	SymmetryChange
	RangeChange
	PainChange
	OutcomeChange
)

// String names the subject.
func (s Subject) String() string {
	return [...]string{"strength", "symmetry", "range", "pain", "outcome"}[s]
}

// Against is the earlier value with which the current one is compared.
type Against uint8

// The references of a change.
const (
	Previous Against = iota // the session before in which it was measured
	Baseline                // the first session in which it was measured
)

// String names the reference.
func (a Against) String() string { return [...]string{"previous", "baseline"}[a] }

// Direction is the verdict on a change.
type Direction uint8

// The directions.
const (
	Unchanged Direction = iota // not clear
	Improved
	Declined
	PossiblyDeclined // probably; or beyond the error of one test, not of all that are compared
	PossiblyImproved // probably
)

// String is the code of the direction.
func (d Direction) String() string {
	return [...]string{"within-error", "improved", "declined", "possibly-declined", "possibly-improved"}[d]
}

// Change is the difference between the current value of a measure and an
// earlier one.
type Change struct {
	Subject  Subject
	Against  Against
	Setting  Setting // of a strength or symmetry
	Side     shoulder.Side
	Movement shoulder.Movement    // of a range
	Active   bool                 // of a range
	Context  shoulder.PainContext // of a pain
	Position shoulder.ArmPosition // of a range or pain
	Outcome  *protocol.OutcomeMeasure
	From, To exact.Number
	FromWhen time.Time
	ToWhen   time.Time
	Unit     string // UCUM
	// Difference is To - From.
	Difference exact.Number
	// Percent is the difference in per cent of From, nil unless it is a
	// strength and From is above 0.
	Percent *exact.Number
	// Detectable is the smallest difference beyond measurement error, in Unit.
	Detectable float64
	Direction  Direction
	// Important says that the change of an outcome measure is real, and as large as
	// matters to a patient.
	Important bool
	Sources   []shoulder.SourceID
}

// direction: the difference must be greater than the detectable change.
func direction(difference float64, detectable float64, moreIsBetter bool) Direction {
	switch {
	case math.Abs(difference) <= detectable:
		return Unchanged
	case (difference > 0) == moreIsBetter:
		return Improved
	}
	return Declined
}

// Changes compares the current value of every measure with the previous and the first one.
// Strengths are compared only within one setting and dimension.
func Changes(e *shoulder.Episode, m *Measurements, p *protocol.Protocol) []Change {
	scores := repeated(coursesOf(m.Scores, (*Score).believed, (*Score).test))
	symmetries := repeated(coursesOf(m.Symmetries, (*Symmetry).believed, (*Symmetry).test))
	ranges := repeated(coursesOf(m.Ranges, always, (*RangeScore).test))
	pains := repeated(coursesOf(m.Pains, always, (*PainScore).test))
	outcomes := repeated(coursesOf(m.Outcomes, always, (*OutcomeScore).measure))
	z := Detectable(p)
	criterion := newDeclineCriterion(m, scores, symmetries, p)
	changes := slices.Grow([]Change(nil), 2*(len(scores)+len(symmetries)+len(ranges)+len(pains)+len(outcomes)))
	sources := make(sourceLists, 0, 4*cap(changes))
	for _, c := range scores {
		now, previous, first := resultsOf(m.Scores, c)
		changes = append(changes, strengthChange(&sources, now, previous, Previous, z), strengthChange(&sources, now, first, Baseline, z))
		criterion.qualify(&changes[len(changes)-2], Fall{now, previous}.Errors())
		criterion.qualify(&changes[len(changes)-1], Fall{now, first}.Errors())
	}
	for _, c := range symmetries {
		now, previous, first := resultsOf(m.Symmetries, c)
		changes = append(changes, symmetryChange(&sources, now, previous, Previous, z), symmetryChange(&sources, now, first, Baseline, z))
		for i := len(changes) - 2; i < len(changes); i++ {
			criterion.qualify(&changes[i], -z*changes[i].Difference.Float64()/changes[i].Detectable)
		}
	}
	for _, c := range ranges {
		now, previous, first := resultsOf(m.Ranges, c)
		changes = append(changes, rangeChange(&sources, now, previous, Previous, p), rangeChange(&sources, now, first, Baseline, p))
	}
	for _, c := range pains {
		now, previous, first := resultsOf(m.Pains, c)
		changes = append(changes, painChange(&sources, now, previous, Previous, e.Involved, p), painChange(&sources, now, first, Baseline, e.Involved, p))
	}
	for _, c := range outcomes {
		now, previous, first := resultsOf(m.Outcomes, c)
		changes = append(changes, outcomeChange(&sources, now, previous, Previous, e.Involved), outcomeChange(&sources, now, first, Baseline, e.Involved))
	}
	return changes
}

// declineCriterion decides whether a fall of strength or symmetry is certain enough to be
// called a decline: of the many comparisons in one answer some are beyond the error of a
// single test by chance.
//
// If LossOf finds that a side lost strength, each of its falls is called a decline, by the
// closure principle (Marcus, Peritz and Gabriel 1976, Biometrika 63:655-60); else the
// detectable change is corrected for the number of comparisons.
type declineCriterion struct {
	m        *Measurements
	p        *protocol.Protocol
	z        float64                          // quantile for one comparison, corrected so that all together have the error rate of one
	sideLost [shoulder.Left + 1]map[bool]bool // by side, of the trained motions and of the others, as far as known
}

func newDeclineCriterion(m *Measurements, scores []course[scoreTest], symmetries []course[symmetryTest], p *protocol.Protocol) declineCriterion {
	n := comparisons(scores) + comparisons(symmetries)
	return declineCriterion{m: m, p: p, z: OneSided((1 - p.Error.Change.Float()/100) / 2 / float64(max(n, 1)))}
}

// comparisons is how many different comparisons there are with the previous and the
// first result of each test.
func comparisons[Test comparable](courses []course[Test]) (n int) {
	for i := range courses {
		n++
		if courses[i].previous != courses[i].first {
			n++
		}
	}
	return n
}

// qualify changes a decline of so many standard errors to a possible one if it is not
// certain.
func (s *declineCriterion) qualify(c *Change, errors float64) {
	if c.Direction == Declined && errors <= s.z && !s.hasLost(c.Side, c.Setting.Motion.Trained()) {
		c.Direction = PossiblyDeclined
	}
}

// hasLost reports whether a side lost strength in the trained motions, or in the others.
// That is found out only once a change depends on it, because it takes long.
func (s *declineCriterion) hasLost(side shoulder.Side, trained bool) bool {
	found, known := s.sideLost[side][trained]
	if !known {
		_, found = LossOf(s.m.Scores, side, trained, s.p, (*Score).believed)
		if s.sideLost[side] == nil {
			s.sideLost[side] = map[bool]bool{}
		}
		s.sideLost[side][trained] = found
	}
	return found
}

// FellBeyondError reports whether the later measurement is lower by more than the error of
// both, whatever other tests say.
func (k *Change) FellBeyondError() bool { return -k.Difference.Float64() > k.Detectable }

// Detectable is the smallest detectable change of one test as a multiple of the
// standard error of a difference.
func Detectable(p *protocol.Protocol) float64 { return quantile(p.Error.Change.Float()) }

// Together is the mean of changes of several tests since one day, each relative to its own
// mean, as a multiple of its standard error: they show together what none shows alone. It is
// 0 for fewer than two.
func Together(changes []*Change, p *protocol.Protocol) float64 {
	mean, variance, n := 0.0, 0.0, float64(len(changes))
	for _, k := range changes {
		middle := (k.From.Float64() + k.To.Float64()) / 2
		if middle <= 0 {
			return 0
		}
		relative := k.Detectable / Detectable(p) / middle
		mean, variance = mean+k.Difference.Float64()/middle/n, variance+relative*relative/n
	}
	if len(changes) < 2 || variance == 0 {
		return 0
	}
	return mean / jointError(variance, len(changes), p)
}

// strengthChange takes the minimal detectable change at the mean of the two scores, each
// with the error of its own condition.
func strengthChange(sources *sourceLists, now, then *Score, against Against, z float64) Change {
	c := changeOf(StrengthChange, against, then.Value, now.Value, then.When, now.When)
	c.Setting, c.Side, c.Unit = now.Setting, now.Side, now.Dimension.Unit()
	c.Sources = sources.union(now.Sources, then.Sources)
	if percent, ok := c.Difference.Mul(exact.Int(100)).Quo(then.Value); ok {
		c.Percent = &percent
	}
	mean := (now.Value.Float64() + then.Value.Float64()) / 2
	c.Detectable = detectable(z, now.Error.At(mean), then.Error.At(mean))
	c.Direction = direction(c.Difference.Float64(), c.Detectable, true)
	return c
}

// symmetryChange treats the two indices as independent, which is cautious when
// they share a comparison score. The standard error of an index is by the
// delta method: index x sqrt(involved error^2 + comparison error^2).
func symmetryChange(sources *sourceLists, now, then *Symmetry, against Against, z float64) Change {
	c := changeOf(SymmetryChange, against, then.Index, now.Index, then.When, now.When)
	c.Setting, c.Side, c.Unit = now.Setting, now.Involved.Side, "%"
	c.Sources = sources.union(now.Involved.Sources, now.Comparison.Sources, then.Involved.Sources, then.Comparison.Sources)
	mean := (now.Index.Float64() + then.Index.Float64()) / 2
	c.Detectable = mean * detectable(z, now.relativeError(), then.relativeError())
	c.Direction = direction(c.Difference.Float64(), c.Detectable, true)
	return c
}

// relativeError is the standard error of an index as a fraction of it.
func (s *Symmetry) relativeError() float64 {
	return math.Hypot(relativeAt(s.Involved.Value.Float64(), s.Involved.SEM()), relativeAt(s.Comparison.Value.Float64(), s.Comparison.SEM()))
}

// RangeChangeThreshold is the smallest change of a range that is real: that of one
// examiner only if both measurements are known to be the same examiner's.
func RangeChangeThreshold(now, then *RangeScore, p *protocol.Protocol) protocol.Threshold {
	if now.Examiner != 0 && now.Examiner == then.Examiner {
		return p.Range.Change
	}
	return p.Range.ChangeOtherExaminer
}

func rangeChange(sources *sourceLists, now, then *RangeScore, against Against, p *protocol.Protocol) Change {
	c := scaleChange(RangeChange, against, &protocol.RangeScale, RangeChangeThreshold(now, then, p), datedValue{then.Degrees, then.When}, datedValue{now.Degrees, now.When})
	c.Movement, c.Active, c.Position, c.Side = now.Movement, now.Active, now.Position, now.Side
	c.Sources = sources.union(now.Sources, then.Sources)
	return c
}

func painChange(sources *sourceLists, now, then *PainScore, against Against, side shoulder.Side, p *protocol.Protocol) Change {
	c := scaleChange(PainChange, against, &protocol.PainScale, p.Pain.Change, datedValue{then.Score, then.When}, datedValue{now.Score, now.When})
	c.Context, c.Position, c.Side = now.Context, now.Position, side
	c.Sources = sources.union(now.Sources, then.Sources)
	return c
}

// datedValue is a number with the time of its measurement.
type datedValue struct {
	value exact.Number
	when  time.Time
}

// scaleChange is the change of a measure of one number.
func scaleChange(subject Subject, against Against, scale *protocol.Scale, detectable protocol.Threshold, then, now datedValue) Change {
	c := changeOf(subject, against, then.value, now.value, then.when, now.when)
	c.Unit, c.Detectable = scale.Unit, detectable.Value.Float64()
	c.Direction = thresholdDirection(c.Difference, detectable, scale.Better == protocol.Higher)
	return c
}

// thresholdDirection: a published smallest change counts as reached when it is equalled.
func thresholdDirection(difference exact.Number, threshold protocol.Threshold, moreIsBetter bool) Direction {
	switch {
	case !threshold.Met(difference.Abs()) || difference.Sign() == 0:
		return Unchanged
	case (difference.Sign() > 0) == moreIsBetter:
		return Improved
	}
	return Declined
}

func changeOf(subject Subject, against Against, from, to exact.Number, fromWhen, toWhen time.Time) Change {
	return Change{
		Subject: subject, Against: against, From: from, To: to, FromWhen: fromWhen, ToWhen: toWhen,
		Difference: to.Sub(from),
	}
}
