// Package assess is the computation on one page: measure, look for red flags, judge, plan. It is
// pure: the same episode, protocol and date give the same assessment.
package assess

import (
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// Assessment is everything that is computed from one episode.
type Assessment struct {
	AsOf         time.Time
	Protocol     *protocol.Protocol
	Episode      *shoulder.Episode
	Measurements *measure.Measurements
	// Course is what all sessions show together, nil where the sides cannot be held
	// against each other.
	Course    *course.Course
	Readiness *readiness.Readiness
	Plan      *plan.Plan
	// comparison is the history of the comparison side if it is found to have lost
	// strength, else empty.
	comparison []measure.History
}

// Current reports whether what was measured at a time is young enough to decide
// with.
func (a *Assessment) Current(when time.Time) bool { return measure.Current(when, a.AsOf, a.Protocol) }

// EarlierBest is the best strength that the comparison side of an index had in the
// last weeks, if that side is found to have lost strength since; else nil.
func (a *Assessment) EarlierBest(s *measure.Symmetry) *measure.Score {
	for i := range a.comparison {
		if best := a.comparison[i].EarlierBest(s.Comparison); best != nil {
			return best
		}
	}
	return nil
}

// Assess computes an assessment of the episode as of a time. Nothing below
// reads a clock, so a replay gives the same answer.
func Assess(e *shoulder.Episode, p *protocol.Protocol, asOf time.Time) *Assessment {
	m := measure.Measure(e, p)
	flags := redflag.Find(e, m, p, asOf)
	c := course.Episode(e, m, p)
	c.Call(m, e.Involved, p)
	r := readiness.Judge(e, m, c, flags, p, asOf)
	a := &Assessment{
		AsOf: asOf, Protocol: p, Episode: e, Measurements: m, Course: c, Readiness: r,
		Plan: plan.Make(e, m, c, r, p, asOf),
	}
	if r.ComparisonDeclined() {
		for _, trained := range [...]bool{true, false} {
			a.comparison = append(a.comparison, measure.HistoryOf(m.Scores, e.Involved.Other(), trained, p))
		}
	}
	return a
}
