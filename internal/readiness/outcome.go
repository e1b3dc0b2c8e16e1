package readiness

import (
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
)

// outcomes judges the outcome measures that are gates, each by its latest current
// value. As with pain, nothing recorded leaves the gate open, and shows as not
// measured.
func (j *judge) outcomes() []Criterion {
	return j.judgeOutcomes(OutcomeAcceptable, func(s *measure.OutcomeScore) bool { return j.current(s.When) })
}

// freshOutcomes asks the latest session for the outcome measures that are gates.
func (j *judge) freshOutcomes() []Criterion {
	return j.judgeOutcomes(OutcomeForFunction, func(s *measure.OutcomeScore) bool { return j.fresh(s.Session) })
}

func (j *judge) judgeOutcomes(rule Rule, counts func(*measure.OutcomeScore) bool) (all []Criterion) {
	latest := j.m.LatestOutcomes()
	for i := range j.p.OutcomeMeasures {
		m := &j.p.OutcomeMeasures[i]
		if m.Gate == nil {
			continue
		}
		c := Criterion{Rule: rule, Outcome: m, Threshold: *m.Gate, Unit: m.Unit}
		for _, s := range latest {
			if s.Measure == m && counts(s) {
				j.judgeOutcome(&c, s, m)
			}
		}
		all = append(all, c)
	}
	return all
}

func (j *judge) judgeOutcome(c *Criterion, s *measure.OutcomeScore, m *protocol.OutcomeMeasure) {
	c.Value, c.When, c.Sources, c.Basis = &s.Value, s.When, s.Sources, Recorded
	c.Verdict = verdictOf(m.Gate.Met(s.Value))
	c.Certainty = measure.CertaintyOfMargin(m.Gate.Margin(s.Value), m.Detectable.Value, j.p)
}

// OutcomesHold reports whether an outcome measure keeps every step closed.
func (r *Readiness) OutcomesHold() bool { return len(r.holdingOutcomes()) > 0 }

func (r *Readiness) holdingOutcomes() (held []*Criterion) {
	for i := range r.Outcomes {
		if r.Outcomes[i].Holds() {
			held = append(held, &r.Outcomes[i])
		}
	}
	return held
}
