package plan

import (
	"slices"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/shoulder"
)

// irritability is read from the worst pain of the latest session that has any.
// Low needs pain during the test, and at rest if it is recorded, to be low.
func (b *builder) irritability() Irritability {
	worst := latestWorst(b.m.Pains)
	switch {
	case worst == nil:
		return IrritabilityUnknown
	case b.p.Pain.HighIrritability.Met(*worst):
		return HighIrritability
	case b.p.Pain.LowIrritability.Met(*worst):
		return LowIrritability
	}
	return ModerateIrritability
}

func latestWorst(pains []measure.PainScore) (worst *exact.Number) {
	for i := len(pains) - 1; i >= 0 && pains[i].Session == pains[len(pains)-1].Session; i-- {
		if worst == nil || pains[i].Score.Cmp(*worst) > 0 {
			worst = &pains[i].Score
		}
	}
	return worst
}

// mode is the resistance that irritability allows: isometric, then rhythmic
// stabilisation, then active and resisted isotonic. Not knowing is treated
// like high irritability.
func mode(i Irritability) Mode {
	switch i {
	case LowIrritability:
		return Isotonic
	case ModerateIrritability:
		return RhythmicStabilisation
	}
	return Isometric
}

func (b *builder) dose(m Mode) protocol.Dose {
	switch m {
	case Isotonic:
		return b.p.Dose.Isotonic
	case RhythmicStabilisation:
		return b.p.Dose.RhythmicStabilisation
	}
	return b.p.Dose.Isometric
}

// exercises is empty while a red flag holds: what is to be done then is among the
// requests. While unit or side of the strengths are open, or whether the arm can be lifted,
// nothing is proposed but range.
func (b *builder) exercises(i Irritability) (all []Exercise) {
	if b.r.Examine() {
		return nil
	}
	if b.r.Unsettled() {
		return b.rangeExercises()
	}
	ready := b.r.Overall == readiness.ReadyForFunctional
	for k := range b.r.Trained() {
		if r := &b.r.Motions[k]; r.Step != readiness.NoStep && !ready {
			all = append(all, b.rotationExercises(r, i)...)
		}
	}
	all = append(all, b.rangeExercises()...)
	switch {
	case ready:
		all = append(all, b.functional(FullFunction))
	case b.mayBeginFunction():
		all = append(all, b.functional(BeginFunction))
	}
	onePainRule(all)
	return all
}

// onePainRule lets no exercise hurt where one must not: of two rules on a page the laxer one
// is followed.
func onePainRule(all []Exercise) {
	if !slices.ContainsFunc(all, func(e Exercise) bool { return slices.Contains(e.Cues, StopAtPain) }) {
		return
	}
	for i := range all {
		for k, cue := range all[i].Cues {
			if cue == PainWithinLimit {
				all[i].Cues[k] = StopAtPain
			}
		}
	}
}

func (b *builder) functional(purpose Purpose) Exercise {
	e := Exercise{Purpose: purpose, Dose: b.p.Dose.Functional, Cues: []Cue{PainWithinLimit}}
	if b.r.Tissue.Healing.Phase < shoulder.LoadSport {
		e.Cues = append(e.Cues, NoSportYet)
	}
	return e
}

// mayBeginFunction reports whether a first amount of functional work may go beside
// strengthening: both rotations work in an elevated position in which the index is
// good enough, pain at rest and in the test is little, nothing is doubtful or went
// back, and the phase of a repair permits it.
func (b *builder) mayBeginFunction() bool {
	f := &b.r.Function
	if b.r.Incomplete || len(b.r.Doubts)+len(b.r.Concerns) > 0 || f.RestPain.Holds() || f.TestPain.Holds() || f.Permitted.Holds() || b.r.OutcomesHold() {
		return false
	}
	return b.allWorkElevated()
}

// allWorkElevated reports whether each trained motion works elevated.
func (b *builder) allWorkElevated() bool {
	for i := range b.r.Trained() {
		if !b.worksElevated(&b.r.Motions[i]) {
			return false
		}
	}
	return true
}

// worksElevated reports whether a rotation works in an elevated position with an index
// that is good enough and of which enough is known, and nothing went back.
func (b *builder) worksElevated(r *readiness.MotionReadiness) bool {
	if r.SteppedBack != nil || r.PainHolds || r.Unsteady() || wentBack(r) {
		return false
	}
	if r.Step == readiness.StepFunctional {
		return true
	}
	if !r.Working().Elevated() {
		return false
	}
	at := r.At(r.Working())
	return at.Symmetry != nil && at.GoodEnough.Threshold.Met(at.Symmetry.Index) &&
		at.Symmetry.LowerEndAtLeast(b.p.Function.Low)
}

// wentBack reports whether a position was even and no longer is, or is even only
// because the comparison side weakened.
func wentBack(r *readiness.MotionReadiness) bool {
	for i := range r.Positions {
		if p := &r.Positions[i]; p.WasEven != nil || p.Confirmed.Basis.OfComparison() {
			return true
		}
	}
	return false
}

// rotationExercises is the work at the open step, and what goes on beside it. Where
// the open step is even already the work beside it is enough, if there is any. A
// rotation that is functional needs no direct work, and one whose test is too old none
// before it is repeated.
func (b *builder) rotationExercises(r *readiness.MotionReadiness, i Irritability) (all []Exercise) {
	if r.Step == readiness.StepFunctional || r.At(r.Working()).Stale != nil && r.Provisional {
		return nil // it was tested long ago: what it may bear is measured first
	}
	m := mode(i)
	if r.PainHolds || b.r.OutcomesHold() || b.submaximal() || b.r.Incomplete || r.At(r.Working()).Doubted != nil {
		m = Isometric
	}
	if r.At(r.Working()).Confirmed.Verdict != readiness.Met || len(r.Beside) == 0 {
		all = append(all, b.exercise(Strengthen, r, r.Working(), r.Step.Support(), m))
	}
	for _, position := range r.Beside {
		support := shoulder.SupportUnstated
		if position.Elevated() {
			support = shoulder.Supported
		}
		all = append(all, b.exercise(Continue, r, position, support, m))
	}
	return all
}

func (b *builder) exercise(purpose Purpose, r *readiness.MotionReadiness, position shoulder.ArmPosition, support shoulder.Support, m Mode) Exercise {
	e := Exercise{
		Purpose: purpose, Motion: r.Motion, Position: position, Support: support, Mode: m,
		Dose: b.dose(m), Cues: cues(r.Motion, position, support, m), Held: r.PainHolds || b.r.OutcomesHold(),
		Provisional: purpose == Strengthen && r.Provisional,
	}
	if r.PainHolds {
		e.Cues = append(e.Cues, DoNotRaiseLoad)
	}
	if b.r.OutcomesHold() {
		e.Cues = append(e.Cues, LoadUntilOutcome)
	}
	if r.At(r.Working()).Doubted != nil || r.At(position).Kept != nil {
		e.Held = true
		if light := b.submaximal() || r.At(position).Doubted != nil; !light { // a light dose is none to be kept as it was
			e.Cues = append(e.Cues, LoadAsBefore)
		}
	}
	switch light := b.submaximal() || r.At(position).Doubted != nil || e.Dose.Share != nil && !b.tested(r.Motion, position); {
	case light: // no share of a strength that is in doubt, of an older one, or of none
		e.Cues, e.Dose = append(e.Cues, StopAtPain), b.p.Dose.Submaximal
	case !r.PainHolds: // where pain is over the limit, a little pain is not fine
		e.Cues = append(e.Cues, PainWithinLimit)
	}
	if b.submaximal() {
		e.Cues = append(e.Cues, SubmaximalOnly)
	}
	if b.r.Tissue.SurgeonGoverns() {
		e.Cues = append(e.Cues, SurgeonsProtocol)
	}
	e.Load = b.load(&e)
	return e
}

// submaximal reports whether a repair permits sub-maximal work only.
func (b *builder) submaximal() bool {
	return b.r.Tissue.Healing.Phase == shoulder.LoadSubmaximalAtSide
}

// cues are the set-up of an exercise: common practice, no published source. Only isotonic
// work has a weight or band that pulls, and a forearm that moves.
func cues(motion shoulder.Motion, position shoulder.ArmPosition, support shoulder.Support, m Mode) (c []Cue) {
	switch {
	case position == shoulder.AtSide:
		c = append(c, RollUnderArm)
	case position == shoulder.Abduction90:
		c = append(c, NoForwardDrift)
	case m == Isotonic && motion == shoulder.Internal:
		c = append(c, PullFromAbove)
	case m == Isotonic:
		c = append(c, PullLevelOrBelow)
	}
	switch support {
	case shoulder.Supported:
		c = append(c, ArmOnSurface)
	case shoulder.Unsupported:
		c = append(c, MirrorAsFeedback)
	}
	if m == Isotonic {
		c = append(c, UpperArmStill)
	}
	return c
}

// rangeExercises is one for each movement whose gate is not met.
func (b *builder) rangeExercises() (all []Exercise) {
	if !b.r.Tissue.Open() {
		return nil // early motion after a repair is the surgeon's to set
	}
	for i := range b.r.Gates() {
		if position := b.r.Gates()[i].Position; b.r.Gates()[i].RangeVerdict() == readiness.NotMet {
			all = append(all, Exercise{
				Purpose: RestoreRange, Movement: position.Elevation(), Dose: b.p.Dose.Range, Cues: []Cue{PainWithinLimit},
			})
		}
	}
	return all
}
