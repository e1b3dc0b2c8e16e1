package measure

import (
	"cmp"
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// RangeScore is how far one movement of one side went in one session. Of several measurements
// it is the mean, or the careful one where they disagree.
type RangeScore struct {
	Movement shoulder.Movement
	Side     shoulder.Side
	Active   bool
	Position shoulder.ArmPosition
	Session  int
	When     time.Time
	Degrees  exact.Number
	// Least and Most are the ends of several measurements that differ by more than a real
	// change, so that one of them is a slip; nil if they do not.
	Least, Most *exact.Number
	// Examiner is who measured, not known if there were several.
	Examiner shoulder.ExaminerID
	Sources  []shoulder.SourceID
}

// Disagrees reports whether the measurements of the session cannot all be right.
func (r *RangeScore) Disagrees() bool { return r.Least != nil }

// Ranges computes the range scores of the episode, by session, movement, side,
// active before passive, and position.
func Ranges(e *shoulder.Episode, p *protocol.Protocol) []RangeScore {
	total := 0
	for i := range e.Sessions {
		total += len(e.Sessions[i].Ranges)
	}
	scores := slices.Grow([]RangeScore(nil), total)
	sources := make(sourceLists, 0, total)
	var ranges []shoulder.Range
	for i := range e.Sessions {
		s := &e.Sessions[i]
		ranges = append(ranges[:0], s.Ranges...)
		slices.SortFunc(ranges, compareRanges)
		for rest := ranges; len(rest) > 0; {
			n := 1
			for n < len(rest) && compareRangeTests(rest[0], rest[n]) == 0 {
				n++
			}
			scores = append(scores, sources.rangeScore(rest[:n], p))
			scores[len(scores)-1].Session, scores[len(scores)-1].When = i, s.When
			rest = rest[n:]
		}
	}
	return scores
}

// rangeScore is the score of at least one measurement of one test.
//
// Where they differ by more than a real change the careful one counts: the least active range,
// because it opens positions, and the largest passive one, because an arm that moves freely and
// cannot be lifted is a red flag. The mean of 60 and 176 degrees would be an arm that lifts.
func (l *sourceLists) rangeScore(measured []shoulder.Range, p *protocol.Protocol) RangeScore {
	first := measured[0]
	score := RangeScore{Movement: first.Movement, Side: first.Side, Active: first.Active, Position: first.Position, Examiner: first.Examiner}
	sum, least, most := exact.Number{}, first.Degrees, first.Degrees
	for _, r := range measured {
		sum = sum.Add(r.Degrees)
		if r.Degrees.Cmp(least) < 0 {
			least = r.Degrees
		}
		if r.Degrees.Cmp(most) > 0 {
			most = r.Degrees
		}
		score.Sources = l.extend(score.Sources, r.Source)
		if r.Examiner != score.Examiner {
			score.Examiner = 0
		}
	}
	score.Degrees, _ = sum.Quo(exact.Int(int64(len(measured))))
	if RangeChangeThreshold(&score, &score, p).Met(most.Sub(least)) {
		score.Least, score.Most, score.Degrees = &least, &most, least
		if !score.Active {
			score.Degrees = most
		}
	}
	return score
}

func compareRangeTests(a, b shoulder.Range) int {
	return cmp.Or(
		cmp.Compare(a.Movement, b.Movement),
		cmp.Compare(a.Side, b.Side),
		-compareBool(a.Active, b.Active),
		cmp.Compare(a.Position, b.Position),
	)
}

func compareRanges(a, b shoulder.Range) int {
	return cmp.Or(compareRangeTests(a, b), cmp.Compare(a.Source, b.Source))
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// PainScore is the worst pain of one context in one session and one shoulder.
type PainScore struct {
	Context  shoulder.PainContext
	Position shoulder.ArmPosition
	Session  int
	When     time.Time
	Score    exact.Number
	Sources  []shoulder.SourceID
}

// Pains computes the pain scores of the involved shoulder, and those without a side, by
// session, context and position.
func Pains(e *shoulder.Episode) []PainScore {
	return painsOf(e, func(p shoulder.Pain) bool { return p.Side == shoulder.SideUnknown || p.Side != e.Involved.Other() })
}

// ComparisonPains computes the pain scores of the comparison shoulder in the same order.
func ComparisonPains(e *shoulder.Episode) []PainScore {
	return painsOf(e, func(p shoulder.Pain) bool { return p.Side != shoulder.SideUnknown && p.Side == e.Involved.Other() })
}

func painsOf(e *shoulder.Episode, counts func(shoulder.Pain) bool) []PainScore {
	total := 0
	for i := range e.Sessions {
		total += len(e.Sessions[i].Pains)
	}
	var scores []PainScore
	sources := make(sourceLists, 0, total)
	var pains []shoulder.Pain
	for i := range e.Sessions {
		s := &e.Sessions[i]
		pains = slices.DeleteFunc(append(pains[:0], s.Pains...), func(p shoulder.Pain) bool { return !counts(p) })
		slices.SortFunc(pains, func(a, b shoulder.Pain) int {
			return cmp.Or(cmp.Compare(a.Context, b.Context), cmp.Compare(a.Position, b.Position), cmp.Compare(a.Source, b.Source))
		})
		for _, pain := range pains {
			last := len(scores) - 1
			if last < 0 || scores[last].Session != i || scores[last].Context != pain.Context || scores[last].Position != pain.Position {
				if scores == nil {
					scores = make([]PainScore, 0, total)
				}
				scores = append(scores, PainScore{Context: pain.Context, Position: pain.Position, Session: i, When: s.When, Score: pain.Score})
				last++
			}
			if pain.Score.Cmp(scores[last].Score) > 0 {
				scores[last].Score = pain.Score
			}
			scores[last].Sources = sources.extend(scores[last].Sources, pain.Source)
		}
	}
	return scores
}
