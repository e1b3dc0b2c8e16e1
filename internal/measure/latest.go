package measure

import (
	"cmp"
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// Current reports whether what was measured at a time is young enough to decide
// with on the day of the assessment.
func Current(when, asOf time.Time, p *protocol.Protocol) bool {
	return p.Pairing.Current.Met(exact.Int(int64(DaysBetween(when, asOf))))
}

// LatestOf is the latest score of each motion and position of a side, tested in
// the way that suits a decision best.
func LatestOf(scores []Score, side shoulder.Side) (latest []*Score) {
	for i := len(scores) - 1; i >= 0; i-- {
		s := &scores[i]
		if s.Side != side {
			continue
		}
		at := slices.IndexFunc(latest, func(l *Score) bool { return l.Motion == s.Motion && l.Position == s.Position })
		switch {
		case at < 0:
			latest = append(latest, s)
		case latest[at].Session == s.Session:
			latest[at] = s // the scores of a session begin with the best test
		}
	}
	return latest
}

// LatestScore is the score of LatestOf for one motion and position, nil if the
// side was never tested there.
func (m *Measurements) LatestScore(side shoulder.Side, r shoulder.Motion, p shoulder.ArmPosition) *Score {
	var latest *Score
	for i := len(m.Scores) - 1; i >= 0; i-- {
		s := &m.Scores[i]
		if s.Side == side && s.Motion == r && s.Position == p && (latest == nil || latest.Session == s.Session) {
			latest = s
		}
	}
	return latest
}

// LatestUnpaired is the latest score of the involved side in a motion and
// position that found no partner, nil if all did.
func (m *Measurements) LatestUnpaired(r shoulder.Motion, p shoulder.ArmPosition) *Unpaired {
	for i := len(m.Unpaired) - 1; i >= 0; i-- {
		if u := &m.Unpaired[i]; u.Involved.Motion == r && u.Involved.Position == p {
			return u
		}
	}
	return nil
}

// DecidingIndices is the index of each session that decides about a motion in a
// position, oldest first: of several conditions in one session the one that suits
// a decision best, which comes first. It is empty if the sides were never compared.
func (m *Measurements) DecidingIndices(r shoulder.Motion, p shoulder.ArmPosition) (indices []*Symmetry) {
	for i := range m.Symmetries {
		s := &m.Symmetries[i]
		if s.Motion != r || s.Position != p {
			continue
		}
		if n := len(indices); n == 0 || indices[n-1].Session != s.Session {
			indices = append(indices, s)
		}
	}
	return indices
}

// OvertakenBy is the latest score of either side in the motion and position of an index if a
// later session than that of the index tested one there; nil if none did. The index is then no
// longer what is known of the two sides: one of them is stronger or weaker since, and nobody
// tested the other with it. It is asked of the latest index of a motion and position.
func (m *Measurements) OvertakenBy(s *Symmetry) (by *Score) {
	for i := range m.Scores {
		if x := &m.Scores[i]; x.Session > s.Session && x.Motion == s.Motion && x.Position == s.Position {
			by = x
		}
	}
	return by
}

// LatestRanges is the latest score of each range that was measured, of either side,
// in the order of the list.
func (m *Measurements) LatestRanges() []*RangeScore {
	return latestOfEach(m.Ranges, (*RangeScore).test)
}

// LatestPains is the latest score of each context and position, in the order of the
// list.
func (m *Measurements) LatestPains() []*PainScore {
	return latestOfEach(m.Pains, (*PainScore).test)
}

// LatestComparisonPains is the same for the comparison shoulder.
func (m *Measurements) LatestComparisonPains() []*PainScore {
	return latestOfEach(m.ComparisonPains, (*PainScore).test)
}

// latestOfEach is the latest result of each test, in the order of the list.
func latestOfEach[Result any, Test comparable](results []Result, testOf func(*Result) Test) []*Result {
	courses := coursesOf(results, always, testOf)
	slices.SortFunc(courses, func(a, b course[Test]) int { return cmp.Compare(a.now, b.now) })
	latest := make([]*Result, len(courses))
	for i, c := range courses {
		latest[i] = &results[c.now]
	}
	return latest
}

// BestRecentRange is the largest range of the same movement in the sessions before a range, of
// the weeks in which a loss counts as sudden; nil if there is none.
func (m *Measurements) BestRecentRange(now *RangeScore, p *protocol.Protocol) (best *RangeScore) {
	for i := range m.Ranges {
		r := &m.Ranges[i]
		recent := p.RedFlag.Window.Met(exact.Int(int64(DaysBetween(r.When, now.When))))
		if r.Session < now.Session && recent && r.test() == now.test() && (best == nil || r.Degrees.Cmp(best.Degrees) > 0) {
			best = r
		}
	}
	return best
}

// LatestRatios are the ratios of the latest session that has any of their side and
// position, in the order of the list: one for each way in which both rotations were
// tested there.
func (m *Measurements) LatestRatios() (latest []*Ratio) {
	type sideAt struct {
		side     shoulder.Side
		position shoulder.ArmPosition
	}
	last := map[sideAt]int{} // session
	for i := range m.Ratios {
		s := m.Ratios[i].External
		last[sideAt{s.Side, s.Position}] = s.Session
	}
	for i := range m.Ratios {
		if s := m.Ratios[i].External; last[sideAt{s.Side, s.Position}] == s.Session {
			latest = append(latest, &m.Ratios[i])
		}
	}
	return latest
}
