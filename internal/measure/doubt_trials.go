package measure

import (
	"math"
	"slices"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// doubtTrials marks a score whose trials cannot all be right: one is far from the median,
// or they vary too much, or one was refused because no shoulder exerts it. Trials that differ
// by less than the least standard error of a score do not disagree, however small the
// strength. A confirmed trial is not doubted.
func (s *scorer) doubtTrials(score *Score, trials []orderedTrial) {
	if refused := refusedOf(score, s.episode); len(refused) > 0 && !score.Confirmed {
		score.Doubts.add(TrialsDisagree)
		score.Outlier = refused[0].Source
		return
	}
	if len(trials) < 2 {
		return
	}
	ordered := append(make([]float64, 0, usualTrials), s.values...)
	slices.Sort(ordered)
	middle := median(ordered)
	floor := floorOf(score, s.p)
	if ordered[len(ordered)-1]-middle <= floor && middle-ordered[0] <= floor {
		return
	}
	apart := false
	for i, x := range s.values {
		apart = apart || !trials[i].Confirmed && farFrom(middle, x, s.p.Doubt.TrialRatio)
	}
	varies := score.Variation > s.p.Doubt.TrialVariation.Value.Float64() && !score.Confirmed
	if apart || varies && !s.outlierConfirmed(score, trials) {
		score.Doubts.add(TrialsDisagree)
	}
}

// refusedOf are the readings of the test of a score that no shoulder exerts.
func refusedOf(score *Score, e *shoulder.Episode) (refused []*shoulder.Trial) {
	all := e.Sessions[score.Session].Refused
	for i := range all {
		if t := &all[i]; t.Motion == score.Motion && t.Position == score.Position && t.Side == score.Side && t.Dimension == score.Dimension {
			refused = append(refused, t)
		}
	}
	return refused
}

// usualTrials is more trials than a test usually has.
const usualTrials = 8

// farFrom reports whether a trial and the median differ by more than a factor, which nothing and something do by any.
func farFrom(middle, x float64, limit protocol.Threshold) bool {
	return x != middle && math.Max(x/middle, middle/x) > limit.Value.Float64()
}

// outlierConfirmed reports whether the trial that makes a set vary is confirmed.
func (s *scorer) outlierConfirmed(score *Score, trials []orderedTrial) bool {
	return score.Outlier >= 0 && slices.ContainsFunc(trials, func(t orderedTrial) bool {
		return t.Source == score.Outlier && t.Confirmed
	})
}

// median is the median of ascending values, of which there is at least one.
func median(ordered []float64) float64 {
	n := len(ordered)
	if n%2 == 1 {
		return ordered[n/2]
	}
	return (ordered[n/2-1] + ordered[n/2]) / 2
}
