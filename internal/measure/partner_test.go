package measure

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// plainPartner looks at every score, the latest session first.
func plainPartner(involved *Score, scores []Score, p *protocol.Protocol) (nearest *Score, reason Mismatch) {
	reason = NoComparison
	var found *Score
	for i := len(scores) - 1; i >= 0; i-- {
		s := &scores[i]
		if s.Side == involved.Side || s.Motion != involved.Motion || s.Position != involved.Position {
			continue
		}
		why := mismatch(involved, s)
		if why == matched && !isYoungEnough(s, involved, p) {
			why = TooOld
		}
		if why == matched && (found == nil || s.Session == found.Session && s.Dimension == involved.Dimension) {
			found = s
		}
		if nearest == nil {
			nearest, reason = s, why
		}
	}
	if found != nil {
		return found, matched
	}
	return nearest, reason
}

// drawScores draws the scores of a few sessions, each test at most once in each.
// From some session on the lever arms are known, so that forces have torques.
func drawScores(t *rapid.T) (scores []Score) {
	sessions := rapid.IntRange(1, 6).Draw(t, "sessions")
	withLever := rapid.IntRange(0, sessions).Draw(t, "first session with a lever arm")
	day := 0
	for session := range sessions {
		day += rapid.SampledFrom([]int{0, 1, 20, 42, 43}).Draw(t, "days between")
		for test := range 16 {
			if !rapid.Bool().Draw(t, "tested") {
				continue
			}
			s := Score{Session: session, When: time.Date(2026, 1, 1+day, 0, 0, 0, 0, time.UTC), Value: exact.Int(100)}
			s.Motion, s.Position = shoulder.External, shoulder.AtSide
			s.Contraction, s.Support = shoulder.Contraction(test&1), shoulder.Support(test>>1&1)
			s.Dimension, s.Side = shoulder.Dimension(test>>2&1), shoulder.Right+shoulder.Side(test>>3&1)
			if s.Dimension == shoulder.Torque || session >= withLever {
				s.Torque = &s.Value
			}
			scores = append(scores, s)
		}
	}
	return scores
}

func TestPartnerIsThatOfASearchThroughAllScores(t *testing.T) {
	p := protocol.Default()
	rapid.Check(t, func(t *rapid.T) {
		scores := drawScores(t)
		pairs := newPartners()
		upTo := 0
		for i := range scores {
			involved := &scores[i]
			for ; upTo < len(scores) && scores[upTo].Session <= involved.Session; upTo++ {
				if scores[upTo].Side == left {
					pairs.add(&scores[upTo])
				}
			}
			if involved.Side == left {
				continue
			}
			got, gotReason := pairs.partnerOf(involved, p)
			want, wantReason := plainPartner(involved, scores[:upTo], p)
			if got != want || gotReason != wantReason {
				t.Fatalf("score %d: %v of %+v, want %v of %+v", i, gotReason, got, wantReason, want)
			}
		}
	})
}
