package population

import (
	"evenreach.example/internal/assess"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// Ready is when a shoulder was first found ready for functional work, in weeks since the
// origin: after one visit and at the latest at another. Who was not found ready until the
// latest visit was perhaps discharged, and counts as not observed any further.
type Ready struct {
	After float64 `json:"after"` // of the last visit before, 0 if there was none
	At    float64 `json:"at"`    // of the visit at which it was seen; After is the latest visit if it was not
	Seen  bool    `json:"seen"`
}

// ready looks for the first visit at which the shoulder was ready, with what was known
// then.
func (v *view) ready() *Ready {
	if v.a.Episode.ComparisonAffected || len(v.sessions) == 0 || v.weeks(v.first) < 0 {
		return nil
	}
	before := 0.0
	for _, session := range v.sessions {
		at := v.weeks(v.when(session))
		if v.maybeReady(session) && v.readyAt(session) {
			return &Ready{After: hundredth(before), At: hundredth(at), Seen: true}
		}
		before = at
	}
	return &Ready{After: hundredth(before)}
}

// maybeReady reports whether every index that readiness rests on was even at a visit,
// without which no shoulder is ready. It spares most visits the whole assessment.
func (v *view) maybeReady(session int) bool {
	even := 0
	for i := range v.a.Measurements.Symmetries {
		s := &v.a.Measurements.Symmetries[i]
		if s.Session == session && s.Motion.Trained() && v.a.Protocol.Symmetry.Even.Met(s.Index) {
			even++
		}
	}
	needed := 0
	for _, motion := range shoulder.Trained {
		needed += len(motion.TestedIn())
	}
	return even >= needed
}

// readyAt assesses the shoulder as it was known at a visit.
func (v *view) readyAt(session int) bool {
	then := *v.a.Episode
	then.Sessions = then.Sessions[:session+1]
	return assess.Assess(&then, v.a.Protocol, v.when(session)).Readiness.Overall == readiness.ReadyForFunctional
}
