package record

import (
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/plan"
	"evenreach.example/internal/shoulder"
)

// closeObsolete closes earlier results of this service about this shoulder to which the
// answer does not refer: proposals that nobody accepted, and results of the assessed day
// that are no longer found because a measurement was corrected. Results of other days were
// right by what was known then and stay. So does everything that somebody else changed.
func (b *builder) closeObsolete() {
	if !b.o.Output.posted() {
		return
	}
	today := b.date(b.a.AsOf)
	for _, h := range b.stored.all {
		isOld := !h.isReferred && h.id.shoulder == b.shoulder && !isClosed(h.Resource) && isUnchanged(h.Resource, h.id)
		if isOld && isWritable(h.Stored) && (isPlanned(h.Resource) || dayOf(h.Resource) == today) {
			b.closeResult(h)
		}
	}
}

// closeResult updates a result to a status that ends it and changes nothing else.
//
// Source: FHIR R4 4.0.1, value sets request-status, goal-status, observation-status and
// diagnostic-report-status.
func (b *builder) closeResult(h *storedResult) {
	h.isReferred = true
	identifier := fhir.Identifier{System: fhir.SystemResult, Value: b.textOf(h.id)}
	switch r := h.Resource.(type) {
	case *fhir.CarePlan:
		c := *r
		c.Status = "revoked"
		b.addUpdate(&c, h, identifier)
	case *fhir.Goal:
		c := *r
		b.endGoal(&c, h.id.question)
		b.addUpdate(&c, h, identifier)
	case *fhir.Observation:
		c := *r
		c.Status = "entered-in-error"
		b.addUpdate(&c, h, identifier)
	case *fhir.DetectedIssue:
		c := *r
		c.Status = "entered-in-error"
		b.addUpdate(&c, h, identifier)
	case *fhir.DiagnosticReport:
		c := *r
		c.Status = "entered-in-error"
		b.addUpdate(&c, h, identifier)
	}
}

// endGoal completes a goal that was reached, and cancels one that was not.
func (b *builder) endGoal(g *fhir.Goal, question string) {
	g.LifecycleStatus, g.StatusDate = "cancelled", b.date(b.a.AsOf)
	if goal := b.goalOf(question); goal != nil && plan.Reached(b.a.Readiness, goal) {
		g.LifecycleStatus, g.AchievementStatus = "completed", &achievements[plan.Achieved]
	}
}

// goalOf is the goal whose question has this digest, nil if no goal that can be found
// reached has it.
func (b *builder) goalOf(question string) *plan.Goal {
	possible := []plan.Goal{{Aim: plan.AimPain}}
	for _, position := range shoulder.TrainedPositions {
		possible = append(possible, plan.Goal{Aim: plan.AimRange, Targets: []plan.Target{{Movement: position.Elevation()}}})
	}
	for _, motion := range shoulder.Trained {
		for _, aim := range [...]plan.Aim{plan.AimGoodEnough, plan.AimEven} {
			possible = append(possible, plan.Goal{Aim: aim, Motion: motion})
		}
	}
	for i := range possible {
		if b.questionDigest("Goal", b.goalKey(&possible[i]), "") == question {
			return &possible[i]
		}
	}
	return nil
}
