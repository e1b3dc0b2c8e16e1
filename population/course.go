package population

import (
	"evenreach.example/internal/assess"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
)

// Progress is whether the strength of the involved side rose since the first visit, by
// the model of the course.
type Progress struct {
	Weeks float64 `json:"weeks"` // from the first to the latest visit
	// Likely is the largest probability, over the tests that decide, that the true
	// strength rose since the first visit.
	Likely float64 `json:"likely"`
	Shown  bool    `json:"shown"` // it reaches the protocol's probability of a change
}

// Who is followed long enough that no progress says something. Ours.
const (
	followedWeeks  = 6
	followedVisits = 3
)

// progress is nil for who was not followed long enough, and for who is ready.
func (v *view) progress() *Progress {
	if len(v.sessions) < followedVisits || v.a.Readiness.Overall == readiness.ReadyForFunctional {
		return nil
	}
	weeks := weeksBetween(v.first, v.when(v.sessions[len(v.sessions)-1]))
	if weeks < followedWeeks {
		return nil
	}
	likely, ok := rose(v.a)
	if !ok {
		return nil
	}
	return &Progress{Weeks: hundredth(weeks), Likely: thousandth(likely), Shown: isSure(likely, v.a.Protocol)}
}

// rose is the largest probability, over the tests that decide, that the true strength of
// the involved side rose since its first measurement; false where there is no course.
func rose(a *assess.Assessment) (likely float64, ok bool) {
	c := a.Course
	if c == nil {
		return 0, false
	}
	for _, test := range c.Deciding {
		if change := &c.Tests[test].First; change.Known {
			likely, ok = max(likely, 1-change.Strength.Below), true
		}
	}
	return likely, ok
}

// isSure reports whether a probability of a change is one that is spoken of.
func isSure(probability float64, p *protocol.Protocol) bool {
	return 100*probability >= p.Certainty.Clear.Value.Float64()
}
