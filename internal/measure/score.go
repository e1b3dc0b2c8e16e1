// Package measure turns trials into scores, and scores into symmetry, error,
// change and trend. It computes; it decides nothing about training.
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
	Rotation    shoulder.Rotation
	Position    shoulder.ArmPosition
	Support     shoulder.Support
	Contraction shoulder.Contraction
	Instrument  shoulder.Instrument
}

// compare orders settings by rotation and position, then by how well they
// suit a decision: make before break, the steadier instrument and the
// supported arm first.
func (s Setting) compare(o Setting) int {
	return cmp.Or(
		cmp.Compare(s.Rotation, o.Rotation),
		cmp.Compare(s.Position, o.Position),
		cmp.Compare(contractionRank[s.Contraction], contractionRank[o.Contraction]),
		cmp.Compare(instrumentRank[s.Instrument], instrumentRank[o.Instrument]),
		cmp.Compare(supportRank[s.Support], supportRank[o.Support]),
	)
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

// Condition is how much error the measuring condition lets through.
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

// Score is what the trials of one test of one side come to.
type Score struct {
	Setting
	Side      shoulder.Side
	Dimension shoulder.Dimension
	Session   int // index into Episode.Sessions
	When      time.Time
	Trials    int
	Value     exact.Number  // mean or maximum, by protocol; N or N.m
	Torque    *exact.Number // N.m, when it is a torque or the lever arm is known
	// LeverEstimated says that Torque stands on a lever arm taken from the body
	// height, because none was measured.
	LeverEstimated bool
	Condition      Condition
	// ErrorPercent is the standard error of measurement in per cent of Value.
	ErrorPercent protocol.Setting
	// Variation is the coefficient of variation of the trials in per cent,
	// with the sample standard deviation; NaN for a single trial or a mean of 0.
	Variation float64
	// Scattered says that the variation is over the protocol's limit.
	Scattered bool
	// Outlier is the trial that stands apart from the median of the others
	// by more than the protocol's limit, or -1. It is named, never dropped.
	Outlier shoulder.SourceID
	Sources []shoulder.SourceID // ascending
}

// SEM is the standard error of measurement in the unit of Value.
func (s *Score) SEM() float64 { return s.Value.Float64() * s.ErrorPercent.Float() / 100 }

// Scores computes every score of the episode, ordered by session, setting,
// dimension and side.
func Scores(e *shoulder.Episode, p *protocol.Protocol) []Score {
	scores := make([]Score, 0, 12*len(e.Sessions))
	for i := range e.Sessions {
		scores = appendSessionScores(scores, e, i, p)
	}
	return scores
}

func appendSessionScores(scores []Score, e *shoulder.Episode, session int, p *protocol.Protocol) []Score {
	s := &e.Sessions[session]
	trials := make([]*shoulder.Trial, len(s.Trials))
	for i := range s.Trials {
		trials[i] = &s.Trials[i]
	}
	slices.SortFunc(trials, compareTrials)
	for len(trials) > 0 {
		n := 1
		for n < len(trials) && sameTest(trials[0], trials[n]) {
			n++
		}
		score := scoreOf(trials[:n], p)
		score.Session, score.When = session, s.When
		score.Torque = torque(&score, e, session)
		score.Condition, score.ErrorPercent = condition(&score, trials[:n], e, p)
		scores = append(scores, score)
		trials = trials[n:]
	}
	return scores
}

func settingOf(t *shoulder.Trial) Setting {
	return Setting{t.Rotation, t.Position, t.Support, t.Contraction, t.Instrument}
}

func compareTrials(a, b *shoulder.Trial) int {
	return cmp.Or(
		settingOf(a).compare(settingOf(b)),
		cmp.Compare(a.Dimension, b.Dimension),
		cmp.Compare(a.Side, b.Side),
		cmp.Compare(a.Source, b.Source),
		a.Value.Cmp(b.Value),
	)
}

func sameTest(a, b *shoulder.Trial) bool {
	return settingOf(a) == settingOf(b) && a.Dimension == b.Dimension && a.Side == b.Side
}

// scoreOf computes the score of at least one trial of one test.
func scoreOf(trials []*shoulder.Trial, p *protocol.Protocol) Score {
	first := trials[0]
	score := Score{
		Setting: settingOf(first), Side: first.Side, Dimension: first.Dimension,
		Trials: len(trials), Outlier: -1, Variation: math.NaN(),
		Sources: make([]shoulder.SourceID, 0, len(trials)),
	}
	mean, highest := meanAndMaximum(trials)
	score.Value = mean
	if p.Trials.Score == protocol.Maximum {
		score.Value = highest
	}
	for _, t := range trials {
		if n := len(score.Sources); n == 0 || score.Sources[n-1] != t.Source {
			score.Sources = append(score.Sources, t.Source)
		}
	}
	values := make([]float64, len(trials))
	for i, t := range trials {
		values[i] = t.Value.Float64()
	}
	score.Variation, score.Scattered = variation(values, p.Trials.Variation)
	if i := outlier(values, p.Trials.Outlier); i >= 0 {
		score.Outlier = trials[i].Source
	}
	return score
}

func meanAndMaximum(trials []*shoulder.Trial) (mean, highest exact.Number) {
	highest = trials[0].Value
	sum := highest
	for _, t := range trials[1:] {
		sum = sum.Add(t.Value)
		if t.Value.Cmp(highest) > 0 {
			highest = t.Value
		}
	}
	if len(trials) == 1 {
		return sum, highest
	}
	mean, _ = sum.Quo(exact.Int(int64(len(trials))))
	return mean, highest
}

// variation is the coefficient of variation in per cent, 100 s / mean with the
// sample standard deviation (n - 1), and whether it is over the limit.
func variation(values []float64, limit protocol.Threshold) (percent float64, scattered bool) {
	mean, sd := stat.MeanStdDev(values, nil)
	if len(values) < 2 || mean <= 0 {
		return math.NaN(), false
	}
	percent = 100 * sd / mean
	return percent, percent > limit.Value.Float64()
}

// outlier finds, among three or more trials, the one furthest from the median
// of the others, if that is over the limit in per cent of the median; else -1.
// It only names a trial, so floating point will do.
func outlier(values []float64, limit protocol.Threshold) int {
	if len(values) < 3 {
		return -1
	}
	furthest, found := limit.Value.Float64(), -1
	others := make([]float64, 0, len(values))
	for i, x := range values {
		others = append(append(others[:0], values[:i]...), values[i+1:]...)
		slices.Sort(others)
		middle := median(others)
		if distance := 100 * math.Abs(x-middle) / middle; middle > 0 && distance > furthest {
			furthest, found = distance, i
		}
	}
	return found
}

// forearmShare is the length of the forearm as a share of body height: the
// lever arm of a pad at the wrist, when it was not measured.
//
// Source: Drillis and Contini 1966, as reproduced by Winter, figure 4.1.
var forearmShare = exact.MustParse("0.146")

// torque is the score as a torque, nil if it is a force without a lever arm.
func torque(s *Score, e *shoulder.Episode, session int) *exact.Number {
	if s.Dimension == shoulder.Torque {
		return &s.Value
	}
	if lever := leverArm(e, s.Side, session); lever != nil {
		product := s.Value.Mul(lever.Metres)
		s.Sources = withSource(s.Sources, lever.Source)
		return &product
	}
	if height := bodyHeight(e, session); height != nil {
		product := s.Value.Mul(forearmShare).Mul(height.Value)
		s.LeverEstimated = true
		return &product
	}
	return nil
}

// bodyHeight is the latest height up to and including a session.
func bodyHeight(e *shoulder.Episode, session int) *shoulder.Measured {
	for i := session; i >= 0; i-- {
		if e.Sessions[i].Height != nil {
			return e.Sessions[i].Height
		}
	}
	return nil
}

// leverArm is the latest lever arm of a side up to and including a session.
func leverArm(e *shoulder.Episode, side shoulder.Side, session int) *shoulder.Lever {
	for i := session; i >= 0; i-- {
		levers := e.Sessions[i].Levers
		for j := len(levers) - 1; j >= 0; j-- {
			if levers[j].Side == side || levers[j].Side == shoulder.SideUnknown {
				return &levers[j]
			}
		}
	}
	return nil
}

func withSource(sources []shoulder.SourceID, id shoulder.SourceID) []shoulder.SourceID {
	at, found := slices.BinarySearch(sources, id)
	if found {
		return sources
	}
	return slices.Insert(sources, at, id)
}

// condition classifies the test by the error that it lets through. A painful
// test counts as unstabilised, whatever held the instrument.
func condition(s *Score, trials []*shoulder.Trial, e *shoulder.Episode, p *protocol.Protocol) (Condition, protocol.Setting) {
	belt := s.Instrument == shoulder.BeltStabilised
	switch {
	case painful(s, trials, e, p.Error.Painful), !belt && s.Support == shoulder.Unsupported:
		return Unstabilised, p.Error.Unstabilised
	case belt:
		return Stabilised, p.Error.Stabilised
	}
	return Usual, p.Error.Usual
}

// painful reports whether the test hurt. Pain without a side is the involved
// shoulder's.
func painful(s *Score, trials []*shoulder.Trial, e *shoulder.Episode, limit protocol.Threshold) bool {
	if slices.ContainsFunc(trials, func(t *shoulder.Trial) bool { return t.Painful }) {
		return true
	}
	return slices.ContainsFunc(e.Sessions[s.Session].Pains, func(pain shoulder.Pain) bool {
		return pain.Context == shoulder.PainDuringResistedTest &&
			(pain.Side == s.Side || pain.Side == shoulder.SideUnknown && s.Side == e.Involved) &&
			(pain.Position == s.Position || pain.Position == shoulder.PositionUnstated) &&
			limit.Met(pain.Score)
	})
}
