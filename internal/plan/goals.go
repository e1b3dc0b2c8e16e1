package plan

import (
	"cmp"
	"math"
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// goals lists what holds the patient back first, then each rotation's next
// threshold, then evenness in all positions.
func (b *builder) goals() (all []Goal) {
	if !b.r.Tissue.Open() || b.r.Examine() {
		return nil // healing, or the examination, comes before training
	}
	all = append(all, b.painGoal()...)
	all = append(all, b.rangeGoals()...)
	if b.r.ComparisonAffected {
		return all
	}
	for i := range b.r.Trained() {
		r := &b.r.Motions[i]
		all = append(all, b.nextGoal(r)...)
		all = append(all, b.evenAll(r))
	}
	return all
}

func (b *builder) painGoal() []Goal {
	for i := range b.r.Gates() {
		pain := &b.r.Gates()[i].Pain
		if pain.Verdict != readiness.NotMet {
			continue
		}
		return []Goal{{
			Aim: AimPain, Due: b.goalIn(b.p.Goal.Near), Sources: pain.Sources,
			Targets:     []Target{{Threshold: pain.Threshold, Value: pain.Threshold.Value, Unit: "{score}", Current: pain.Value}},
			Achievement: b.achievement(func(c *measure.Change) bool { return c.Subject == measure.PainChange }),
		}}
	}
	return nil
}

func (b *builder) rangeGoals() (all []Goal) {
	for i := range b.r.Gates() {
		at := &b.r.Gates()[i]
		if at.RangeVerdict() != readiness.NotMet {
			continue
		}
		movement, needed := at.Position.Elevation(), *at.Range.Needed
		if at.RangeMinimum.Needed.Cmp(needed) > 0 {
			needed = *at.RangeMinimum.Needed
		}
		all = append(all, Goal{
			Aim: AimRange, Due: b.goalIn(b.p.Goal.Near), Sources: at.Range.Sources,
			Targets: []Target{{Movement: movement, Threshold: at.Range.Threshold, Value: needed, Unit: "deg", Current: at.Range.Measured}},
			Achievement: b.achievement(func(c *measure.Change) bool {
				return c.Subject == measure.RangeChange && c.Movement == movement && c.Active && c.Side == b.episode.Involved
			}),
		})
	}
	return all
}

// nextGoal aims at the threshold that the working position has to reach next.
func (b *builder) nextGoal(r *readiness.MotionReadiness) []Goal {
	position := r.Working()
	if position == shoulder.PositionUnstated {
		return nil
	}
	at := r.At(position)
	goal := Goal{Aim: AimGoodEnough, Motion: r.Motion, Due: b.goalIn(b.p.Goal.Near)}
	threshold := b.p.Symmetry.GoodEnough
	switch {
	case at.Even.Verdict == readiness.Met:
		return nil
	case at.GoodEnough.Verdict == readiness.Met:
		goal.Aim, threshold = AimEven, b.p.Symmetry.Even
		goal.Due = b.evenBy(at)
	}
	goal.Targets = []Target{symmetryTarget(at, threshold)}
	goal.Sources = at.GoodEnough.Sources
	goal.Achievement = b.achievement(symmetryChangeOf(r.Motion, position))
	if goal.Aim == AimEven {
		goal.Due = b.notBefore(goal.Due, at)
	}
	return []Goal{goal}
}

// evenAll aims at evenness of a rotation in all three positions.
func (b *builder) evenAll(r *readiness.MotionReadiness) Goal {
	goal := Goal{Aim: AimEvenAll, Motion: r.Motion, Due: b.allEvenBy(), Targets: make([]Target, 0, len(r.Positions))}
	confirmed := true
	for i := range r.Positions {
		at := &r.Positions[i]
		goal.Targets = append(goal.Targets, symmetryTarget(at, b.p.Symmetry.Even))
		goal.Sources = append(goal.Sources, at.Even.Sources...)
		goal.Due = b.notBefore(goal.Due, at)
		confirmed = confirmed && at.Confirmed.Verdict == readiness.Met
	}
	goal.Achievement = b.achievement(symmetryChangeOf(r.Motion, r.Working()))
	if confirmed {
		goal.Achievement = Achieved
	}
	return goal
}

// evenBy is when a position may be even: the day that the course forecasts, zero where
// it gives none. Of a course of too few sessions, or a position that is probably even
// and has to show it, it is the day of the next threshold.
func (b *builder) evenBy(at *readiness.PositionReadiness) time.Time {
	if at.Symmetry == nil {
		return b.goalIn(b.p.Goal.Near)
	}
	t := b.course.Find(at.Symmetry.Setting)
	if t == nil {
		return b.goalIn(b.p.Goal.Near)
	}
	return b.dateOf(&t.Outlook, b.p.Goal.Near)
}

// allEvenBy is the same of all tests together.
func (b *builder) allEvenBy() time.Time {
	if b.course == nil {
		return b.goalIn(b.p.Goal.Due)
	}
	return b.dateOf(&b.course.All, b.p.Goal.Due)
}

func (b *builder) dateOf(o *course.Outlook, usual protocol.Setting) time.Time {
	switch o.Prospect {
	case course.TooFew, course.Reached:
		return b.goalIn(usual)
	case course.Forecast:
		return b.recheck.Forecast(b.course, o).Date
	}
	return time.Time{}
}

// goalIn is the day after so many days, and none before the next re-check, at which it is seen whether the goal is reached.
func (b *builder) goalIn(s protocol.Setting) time.Time { return b.recheck.notBefore(b.inDays(s)) }

// notBefore is a date of a goal, or the later one on which the healing of a repair permits
// load in its position: a page must not ask for something earlier than it allows it. Where
// no date can be given there is none.
func (b *builder) notBefore(due time.Time, at *readiness.PositionReadiness) time.Time {
	h := &b.r.Tissue.Healing
	if due.IsZero() || !at.Load.Holds() || !h.Dated() {
		return due
	}
	weeks := b.p.Tissue.After(shoulder.NeededAt(at.Position), h.Massive).Value.Float64()
	if permitted := h.Repair.Date.AddDate(0, 0, int(math.Ceil(7*weeks))); permitted.After(due) {
		return permitted
	}
	return due
}

func symmetryTarget(at *readiness.PositionReadiness, threshold protocol.Threshold) Target {
	t := Target{Position: at.Position, Threshold: threshold, Value: threshold.Value, Unit: "%", Doubted: at.Doubted != nil}
	if at.Symmetry != nil {
		t.Current = &at.Symmetry.Index
	}
	return t
}

func symmetryChangeOf(motion shoulder.Motion, position shoulder.ArmPosition) func(*measure.Change) bool {
	return func(c *measure.Change) bool {
		return c.Subject == measure.SymmetryChange && c.Setting.Motion == motion && c.Setting.Position == position
	}
}

// achievement is how the measure changed since the previous session.
func (b *builder) achievement(about func(*measure.Change) bool) Achievement {
	for i := range b.m.Changes {
		c := &b.m.Changes[i]
		if c.Against != measure.Previous || !about(c) {
			continue
		}
		switch c.Direction {
		case measure.Improved:
			return Improving
		case measure.Declined:
			return Worsening
		case measure.PossiblyDeclined, measure.PossiblyImproved:
			return InProgress
		}
		return NoChange
	}
	return InProgress
}

// cautions are what applies to everybody, then what applies here.
func (b *builder) cautions() []Caution {
	all := []Caution{SupportsJudgement, LocalRulesGovern, ReferFirst, RotatorsOnly}
	add := func(applies bool, c Caution) {
		if applies {
			all = append(all, c)
		}
	}
	some := func(holds func(*readiness.PositionReadiness) bool) bool {
		for i := range b.r.Motions {
			for k := range b.r.Motions[i].Positions {
				if holds(&b.r.Motions[i].Positions[k]) {
					return true
				}
			}
		}
		return false
	}
	add(b.r.Tissue.SurgeonGoverns(), SurgeonGoverns)
	add(!b.r.Tissue.Open() && b.r.Tissue.Healing.Repair != nil, HealingTissue)
	add(some(func(p *readiness.PositionReadiness) bool {
		return p.Even.Verdict == readiness.Met && p.Confirmed.Verdict != readiness.Met
	}), OneSession)
	add(b.bothSidesWeak(), BothSidesWeak)
	add(b.r.ComparisonAffected, NoUnaffectedSide)
	add(b.painUnknown() && b.r.Tissue.Open(), PainNotRecorded)
	add(some(func(p *readiness.PositionReadiness) bool { return p.Pain.Basis == readiness.UnstatedPain }), PainWithoutContext)
	add(some(func(p *readiness.PositionReadiness) bool { return p.Grade != shoulder.GradeUnknown }), ManualTestLimits)
	add(some(func(p *readiness.PositionReadiness) bool {
		return p.Position == shoulder.Flexion90 && p.Symmetry != nil
	}), FlexionErrorUnknown)
	if latest := b.episode.Latest(); latest >= 0 {
		add(b.episode.Minor(b.episode.Sessions[latest].When), GrowingPatient)
	}
	return all
}

// bothSidesWeak reports whether an index is good enough although the
// comparison side is weak for the body mass.
//
// Source: Sansone et al. 2019, Am J Phys Med Rehabil, pages 382-386 (strength is
// lower on both sides in unilateral shoulder pain).
func (b *builder) bothSidesWeak() bool {
	for i := range b.r.Motions {
		for k := range b.r.Motions[i].Positions {
			at := &b.r.Motions[i].Positions[k]
			s := cmp.Or(at.Symmetry, at.Doubted)
			if s == nil || s.Comparison.Dimension != shoulder.Force || !b.p.Symmetry.GoodEnough.Met(s.Index) {
				continue
			}
			if perKilogram, ok := s.Comparison.ByMass(); ok && b.p.Symmetry.Weak.Met(perKilogram) {
				return true
			}
		}
	}
	return false
}
