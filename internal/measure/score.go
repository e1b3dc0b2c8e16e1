// Package measure computes scores from trials, and symmetry, error, change and trend from
// scores. It makes no decision about training.
package measure

import (
	"cmp"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Setting is how a strength was tested: what must agree before two scores may
// be compared. The dimension is kept beside it, because a known lever arm
// turns a force into a torque.
type Setting struct {
	Motion      shoulder.Motion
	Position    shoulder.ArmPosition
	Support     shoulder.Support
	Contraction shoulder.Contraction
	Instrument  shoulder.Instrument
}

// The ranks are common practice: the make test and the stabilised instrument
// are the more repeatable ones (Shah et al. 2020; Kolber et al. 2007).
var (
	contractionRank = [...]uint8{shoulder.Make: 0, shoulder.ContractionUnstated: 1, shoulder.Break: 2}
	instrumentRank  = [...]uint8{
		shoulder.BeltStabilised: 0, shoulder.Handheld: 1, shoulder.InstrumentUnstated: 2, shoulder.Isokinetic: 3,
	}
	supportRank = [...]uint8{shoulder.Supported: 0, shoulder.Unsupported: 1, shoulder.SupportUnstated: 2}
)

// Condition is a class of measuring conditions with the same error.
type Condition uint8

// The measuring conditions.
const (
	Usual Condition = iota
	Stabilised
	Unstabilised
)

// String is the name of the condition.
func (c Condition) String() string {
	return [...]string{"usual", "stabilised", "unstabilised"}[c]
}

// Score is the result of the trials of one test of one side.
type Score struct {
	Setting
	Side      shoulder.Side
	Dimension shoulder.Dimension
	Session   int // index into Episode.Sessions
	When      time.Time
	Trials    int
	// FewTrials says that there are fewer than the protocol asks for.
	FewTrials bool
	// First is the input of the first trial.
	First  shoulder.SourceID
	Value  exact.Number  // mean or maximum, by protocol; N or N.m
	Torque *exact.Number // N.m, when it is a torque or the lever arm is known
	// Mass is the body mass in force at the session, in kilograms: the latest up to
	// and including it; nil if none is recorded.
	Mass *exact.Number
	// LeverEstimated says that Torque rests on a lever arm estimated from the body height,
	// because none was measured.
	LeverEstimated bool
	Condition      Condition
	// ErrorPercent is the published standard error of measurement, in per cent of
	// the score, for the measuring condition.
	ErrorPercent protocol.Setting
	// Error is the standard error of this score, by its number of trials.
	Error Error
	// Variation is the coefficient of variation of the trials in per cent,
	// with the sample standard deviation; NaN for a single trial or a mean of 0.
	Variation float64
	// Scattered says that the variation is over the protocol's limit.
	Scattered bool
	// Outlier is the trial that differs from the median of the others by more than the
	// protocol's limit, or -1. It is reported, never dropped.
	Outlier shoulder.SourceID
	// Unlike is the latest earlier score of the side in the position if none of the
	// earlier ones was tested in the same way, so that no change can be computed; else
	// nil.
	Unlike *Score
	// Confirmed says that a clinician has confirmed every trial.
	Confirmed bool
	// Doubts are the reasons not to believe the score before it was repeated or
	// confirmed.
	Doubts  Doubts
	Sources []shoulder.SourceID // ascending
}

// SEM is the standard error of measurement in the unit of Value.
func (s *Score) SEM() float64 { return s.Error.At(s.Value.Float64()) }

// ByMass is the score by body mass, in N/kg or N.m/kg as the score is a force or a
// torque. It reports false without a body mass.
func (s *Score) ByMass() (exact.Number, bool) {
	if s.Mass == nil {
		return exact.Number{}, false
	}
	return s.Value.Quo(*s.Mass)
}

// Scores computes every score of the episode, ordered by session, setting,
// dimension and side.
func Scores(e *shoulder.Episode, p *protocol.Protocol) []Score {
	trials := inOrder(e.Sessions)
	s := scorer{episode: e, p: p, context: newSessionContext(e, p), sources: make(sourceLists, 0, len(trials))}
	scores := make([]Score, countTests(trials))
	for i := range scores {
		n := 1
		for n < len(trials) && trials[n].sameTest(trials[0]) {
			n++
		}
		s.fill(&scores[i], trials[:n])
		trials = trials[n:]
	}
	return scores
}

// orderedTrial is a trial with its sort keys: its session, the number of its test, and its
// value within rounding.
type orderedTrial struct {
	*shoulder.Trial
	session int
	test    uint64
	value   float64
}

func (t orderedTrial) sameTest(o orderedTrial) bool {
	return t.test == o.test && t.session == o.session
}

// inOrder is all trials by session, test and source.
func inOrder(sessions []shoulder.Session) []orderedTrial {
	n := 0
	for i := range sessions {
		n += len(sessions[i].Trials)
	}
	ordered := make([]orderedTrial, 0, n)
	for i := range sessions {
		from, trials := len(ordered), sessions[i].Trials
		for k := range trials {
			ordered = append(ordered, orderedTrial{&trials[k], i, testOf(&trials[k]), trials[k].Value.Float64()})
		}
		slices.SortFunc(ordered[from:], orderedTrial.compare)
	}
	return ordered
}

func countTests(ordered []orderedTrial) (n int) {
	for i, t := range ordered {
		if i == 0 || !t.sameTest(ordered[i-1]) {
			n++
		}
	}
	return n
}

// compare orders the trials of one session. Trials of one input whose values differ by
// less than rounding may be in any order, because no result depends on it.
func (t orderedTrial) compare(o orderedTrial) int {
	switch {
	case t.test != o.test:
		return cmp.Compare(t.test, o.test)
	case t.Source != o.Source:
		return cmp.Compare(t.Source, o.Source)
	}
	return cmp.Compare(t.value, o.value)
}

// testOf numbers the tests, a byte for each part: by motion and position, then
// by how well the setting suits a decision (make before break, the steadier
// instrument and the supported arm first), then by dimension and side. Two
// trials with one number are of the same test.
func testOf(t *shoulder.Trial) uint64 {
	return uint64(t.Motion)<<48 | uint64(t.Position)<<40 |
		uint64(contractionRank[t.Contraction])<<32 | uint64(instrumentRank[t.Instrument])<<24 | uint64(supportRank[t.Support])<<16 |
		uint64(t.Dimension)<<8 | uint64(t.Side)
}

func settingOf(t *shoulder.Trial) Setting {
	return Setting{t.Motion, t.Position, t.Support, t.Contraction, t.Instrument}
}

// scorer computes scores one after the other.
type scorer struct {
	episode *shoulder.Episode
	p       *protocol.Protocol
	context sessionContext // of the score that is computed now
	sources sourceLists
	values  []float64 // of the present score's trials
}

// fill computes the score of at least one trial of one test.
func (s *scorer) fill(score *Score, trials []orderedTrial) {
	first := trials[0]
	s.context.advanceTo(first.session)
	score.Session, score.When = first.session, s.episode.Sessions[first.session].When
	score.Setting, score.Side, score.Dimension, score.Trials = settingOf(first.Trial), first.Side, first.Dimension, len(trials)
	score.Confirmed = true
	score.FewTrials, score.First = !s.p.Trials.Minimum.Met(exact.Int(int64(len(trials)))), first.Source
	for _, t := range trials {
		score.Sources = s.sources.extend(score.Sources, t.Source)
		score.Confirmed = score.Confirmed && t.Confirmed
		if t.Denied {
			score.Doubts |= denied
		}
	}
	score.Value = valueOf(trials, s.p.Trials.Score)
	s.fillSpread(score, trials)
	score.Torque, score.Mass = torque(score, &s.context), s.context.mass
	hurts := painful(score, trials, &s.context)
	score.Condition, score.ErrorPercent = condition(score, hurts, s.p)
	score.Error = errorOf(score, s.p)
}

// fillSpread says how far the trials lie apart.
func (s *scorer) fillSpread(score *Score, trials []orderedTrial) {
	s.values = s.values[:0]
	for _, t := range trials {
		s.values = append(s.values, t.value)
	}
	score.Variation, score.Scattered = variation(s.values, s.p.Trials.Variation)
	score.Outlier = -1
	if i := outlier(s.values, s.p.Trials.Outlier); i >= 0 {
		score.Outlier = trials[i].Source
	}
	s.doubtTrials(score, trials)
}

// valueOf is the score of one or more trials.
func valueOf(trials []orderedTrial, rule protocol.ScoreRule) exact.Number {
	value := trials[0].Value
	for _, t := range trials[1:] {
		switch {
		case rule == protocol.Mean:
			value = value.Add(t.Value)
		case t.Value.Cmp(value) > 0:
			value = t.Value
		}
	}
	if rule == protocol.Mean && len(trials) > 1 {
		value, _ = value.Quo(exact.Int(int64(len(trials))))
	}
	return value
}

// variation is the coefficient of variation in per cent, 100 s / mean with the
// sample standard deviation (n - 1), and whether it is over the limit.
func variation(values []float64, limit protocol.Threshold) (percent float64, scattered bool) {
	if len(values) < 2 {
		return math.NaN(), false
	}
	mean, sd := stat.MeanStdDev(values, nil)
	if mean <= 0 {
		return math.NaN(), false
	}
	percent = 100 * sd / mean
	return percent, percent > limit.Value.Float64()
}

// outlier finds, among three or more trials, the one furthest from the median of the
// others, if that is over the limit in per cent of the median; else -1. It only names a
// trial, so floating point is exact enough. If the median of the others is 0, any force is
// infinitely far from it.
func outlier(values []float64, limit protocol.Threshold) int {
	if len(values) < 3 {
		return -1
	}
	ordered := append(make([]float64, 0, usualTrials), values...)
	slices.Sort(ordered)
	furthest, found := limit.Value.Float64(), -1
	for i, x := range values {
		at, _ := slices.BinarySearch(ordered, x)
		middle := medianWithout(ordered, at)
		if distance := 100 * math.Abs(x-middle) / middle; distance > furthest {
			furthest, found = distance, i
		}
	}
	if found >= 0 && borneOut(values, found, ordered) {
		return -1
	}
	return found
}

// borneOut reports whether another trial is nearer to one than to the median of the rest:
// of two groups neither stands apart.
func borneOut(values []float64, one int, ordered []float64) bool {
	at, _ := slices.BinarySearch(ordered, values[one])
	middle := medianWithout(ordered, at)
	for i, x := range values {
		if i != one && math.Abs(x-values[one]) < math.Abs(x-middle) {
			return true
		}
	}
	return false
}

// medianWithout is the median of ascending values but the one at an index; at
// least one is left.
func medianWithout(ordered []float64, without int) float64 {
	at := func(i int) float64 {
		if i >= without {
			i++
		}
		return ordered[i]
	}
	n := len(ordered) - 1
	if n%2 == 1 {
		return at(n / 2)
	}
	return (at(n/2-1) + at(n/2)) / 2
}

// forearmShare is the length of the forearm as a share of body height: the
// lever arm of a pad at the wrist, when it was not measured.
//
// Source: Drillis and Contini 1966, as reproduced by Winter, figure 4.1.
var forearmShare = exact.MustParse("0.146")

// torque is the score as a torque, nil if it is a force without a lever arm.
func torque(s *Score, v *sessionContext) *exact.Number {
	if s.Dimension == shoulder.Torque {
		return &s.Value
	}
	if lever := v.levers[s.Side]; lever != nil {
		product := s.Value.Mul(lever.Metres)
		s.Sources = withSource(s.Sources, lever.Source)
		return &product
	}
	if v.height != nil {
		product := s.Value.Mul(forearmShare).Mul(v.height.Value)
		s.LeverEstimated = true
		return &product
	}
	return nil
}

// condition classifies the test by its error. A painful test counts as unstabilised,
// whatever held the instrument.
func condition(s *Score, hurts bool, p *protocol.Protocol) (Condition, protocol.Setting) {
	belt := s.Instrument == shoulder.BeltStabilised
	switch {
	case hurts, !belt && s.Support == shoulder.Unsupported:
		return Unstabilised, p.Error.Unstabilised
	case belt:
		return Stabilised, p.Error.Stabilised
	}
	return Usual, p.Error.Usual
}

// painful reports whether the test hurt.
func painful(s *Score, trials []orderedTrial, v *sessionContext) bool {
	return slices.ContainsFunc(trials, func(t orderedTrial) bool { return t.Painful }) || v.hurts(s.Side, s.Position)
}

// AlmostNone is the limit at which a strength is almost none: of a force, or of a torque.
func AlmostNone(s *Score, p *protocol.Protocol) protocol.Threshold {
	if s.Dimension == shoulder.Torque {
		return p.RedFlag.Torque
	}
	return p.RedFlag.Force
}
