// Package assess is the computation on one page: measure, look for red flags, judge, plan. It is
// pure: the same episode, protocol and date give the same assessment.
package assess

import (
	"time"

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
	Readiness    *readiness.Readiness
	Plan         *plan.Plan
}

// Assess computes an assessment of the episode as of a time. Nothing below
// reads a clock, so a replay gives the same answer.
func Assess(e *shoulder.Episode, p *protocol.Protocol, asOf time.Time) *Assessment {
	m := measure.Measure(e, p)
	flags := redflag.Find(e, m, p, asOf)
	r := readiness.Judge(e, m, flags, p, asOf)
	return &Assessment{
		AsOf: asOf, Protocol: p, Episode: e, Measurements: m, Readiness: r,
		Plan: plan.Make(e, m, r, p, asOf),
	}
}
