package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/shoulder"
)

// closeOld closes what the record has of us about this shoulder and nothing of the
// answer takes up: an earlier proposal that nobody accepted, and a result of the day
// that is assessed which is no longer found, because a measurement was corrected. Results
// of other days were right for what was known then. What somebody else had a hand in
// stays as it is.
func (b *builder) closeOld() {
	if !b.o.Output.posted() {
		return
	}
	today := b.date(b.a.AsOf)
	for _, h := range b.holdings.all {
		isOld := !h.taken && h.id.whose == b.whose && !isClosed(h.Resource) && isStillOurs(h.Resource, h.id)
		if isOld && isWritable(h.Stored) && (isPlanned(h.Resource) || dayOf(h.Resource) == today) {
			b.close(h)
		}
	}
}

// close writes a result as it was read, with a status that ends it.
//
// Source: FHIR R4 4.0.1, value sets request-status, goal-status, observation-status and
// diagnostic-report-status.
func (b *builder) close(h *held) {
	h.taken = true
	identifier := fhir.Identifier{System: fhir.SystemResult, Value: b.textOf(h.id)}
	switch r := h.Resource.(type) {
	case *fhir.CarePlan:
		c := *r
		c.Status = "revoked"
		b.put(&c, h, identifier)
	case *fhir.Goal:
		c := *r
		b.endGoal(&c, h.id.what)
		b.put(&c, h, identifier)
	case *fhir.Observation:
		c := *r
		c.Status = "entered-in-error"
		b.put(&c, h, identifier)
	case *fhir.DetectedIssue:
		c := *r
		c.Status = "entered-in-error"
		b.put(&c, h, identifier)
	case *fhir.DiagnosticReport:
		c := *r
		c.Status = "entered-in-error"
		b.put(&c, h, identifier)
	}
}

// endGoal completes a goal that was reached, and cancels any other.
func (b *builder) endGoal(g *fhir.Goal, what string) {
	g.LifecycleStatus, g.StatusDate = "cancelled", b.date(b.a.AsOf)
	if goal := b.goalOf(what); goal != nil && plan.Reached(b.a.Readiness, goal) {
		g.LifecycleStatus, g.AchievementStatus = "completed", &achievements[plan.Achieved]
	}
}

// goalOf is the goal that a question asks for, nil if it is none that can be found
// reached.
func (b *builder) goalOf(what string) *plan.Goal {
	possible := []plan.Goal{{Aim: plan.AimPain}}
	for _, position := range shoulder.TrainedPositions {
		possible = append(possible, plan.Goal{Aim: plan.AimRange, Targets: []plan.Target{{Movement: position.Elevation()}}})
	}
	for _, rotation := range shoulder.Trained {
		for _, aim := range [...]plan.Aim{plan.AimGoodEnough, plan.AimEven} {
			possible = append(possible, plan.Goal{Aim: aim, Rotation: rotation})
		}
	}
	for i := range possible {
		if b.what("Goal", b.goalKey(&possible[i]), "") == what {
			return &possible[i]
		}
	}
	return nil
}
