package measure

import (
	"cmp"
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// RangeScore is how far one movement of one side went in one session: the
// mean if it was measured more than once.
type RangeScore struct {
	Movement shoulder.Movement
	Side     shoulder.Side
	Active   bool
	Position shoulder.ArmPosition
	Session  int
	When     time.Time
	Degrees  exact.Number
	// Examiner is who measured, not known if there were several.
	Examiner shoulder.ExaminerID
	Sources  []shoulder.SourceID
}

// Ranges computes the range scores of the episode, by session, movement, side,
// active before passive, and position.
func Ranges(e *shoulder.Episode) []RangeScore {
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
			first := rest[0]
			score := RangeScore{
				Movement: first.Movement, Side: first.Side, Active: first.Active, Position: first.Position,
				Session: i, When: s.When, Examiner: first.Examiner,
			}
			n, sum := 0, exact.Number{}
			for n < len(rest) && compareRangeTests(first, rest[n]) == 0 {
				sum = sum.Add(rest[n].Degrees)
				score.Sources = sources.extend(score.Sources, rest[n].Source)
				if rest[n].Examiner != score.Examiner {
					score.Examiner = 0
				}
				n++
			}
			score.Degrees, _ = sum.Quo(exact.Int(int64(n)))
			scores = append(scores, score)
			rest = rest[n:]
		}
	}
	return scores
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
