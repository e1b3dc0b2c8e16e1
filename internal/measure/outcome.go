package measure

import (
	"slices"
	"time"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// OutcomeScore is the value of an outcome measure in one session, for the involved
// shoulder or without a side: the worst if there are several.
type OutcomeScore struct {
	Measure *protocol.OutcomeMeasure
	Session int
	When    time.Time
	Value   exact.Number
	Sources []shoulder.SourceID
}

func (s *OutcomeScore) measure() *protocol.OutcomeMeasure { return s.Measure }

// Outcomes computes the values of the outcome measures of the involved shoulder, by
// session, and in a session in the order of the protocol.
func Outcomes(e *shoulder.Episode, p *protocol.Protocol) (scores []OutcomeScore) {
	for i := range e.Sessions {
		s := &e.Sessions[i]
		for k := range p.OutcomeMeasures {
			m := &p.OutcomeMeasures[k]
			if score, ok := outcomeOf(m, s.Outcomes, e.Involved); ok {
				score.Session, score.When = i, s.When
				scores = append(scores, score)
			}
		}
	}
	return scores
}

// outcomeOf is the value of one measure among those of a session.
func outcomeOf(m *protocol.OutcomeMeasure, outcomes []shoulder.Outcome, involved shoulder.Side) (score OutcomeScore, ok bool) {
	for _, o := range outcomes {
		if o.Measure != m.ID || o.Side != shoulder.SideUnknown && o.Side != involved {
			continue
		}
		if !ok || worse(o.Value, score.Value, m.Better) {
			score.Value = o.Value
		}
		score.Measure, ok = m, true
		score.Sources = append(score.Sources, o.Source)
	}
	slices.Sort(score.Sources)
	return score, ok
}

func worse(a, b exact.Number, better protocol.Better) bool {
	if better == protocol.Higher {
		return a.Cmp(b) < 0
	}
	return a.Cmp(b) > 0
}

// LatestOutcomes is the latest value of each outcome measure, in the order of the
// list.
func (m *Measurements) LatestOutcomes() []*OutcomeScore {
	return latestOfEach(m.Outcomes, (*OutcomeScore).measure)
}

func outcomeChange(sources *sourceLists, now, then *OutcomeScore, against Against, side shoulder.Side) Change {
	c := scaleChange(OutcomeChange, against, &now.Measure.Scale, now.Measure.Detectable, datedValue{then.Value, then.When}, datedValue{now.Value, now.When})
	c.Outcome, c.Side = now.Measure, side
	c.Sources = sources.union(now.Sources, then.Sources)
	if important := now.Measure.Important; important != nil {
		c.Important = c.Direction != Unchanged && important.Met(c.Difference.Abs())
	}
	return c
}
