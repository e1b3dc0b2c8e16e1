package readiness

import (
	"slices"
	"time"

	"evenreach.example/internal/course"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// Readiness is where the shoulder stands.
type Readiness struct {
	Overall  Overall
	Flags    []redflag.Flag
	Doubts   []*measure.DoubtFound // that stand
	Concerns []Concern
	Tissue   Tissue
	Function Function
	// Outcomes are the verdicts on the outcome measures that are gates.
	Outcomes []Criterion
	// Motions are the motions with steps, and behind them the others of which
	// anything was measured.
	Motions []MotionReadiness
	// ComparisonAffected says that there is no unaffected side, and so no
	// verdict on symmetry.
	ComparisonAffected bool
	// Incomplete says that some of the record is missing: nothing opens beyond the
	// arm at the side, because what is missing may forbid it.
	Incomplete bool
	// FirstVisit says that nothing was measured before the day of the latest session, so
	// that no work is known to be under way.
	FirstVisit bool
	// Demands are the verdicts on the demands of work and sport of the protocol.
	Demands []Demand
}

// Examine reports whether a red flag keeps all load out of the plan.
func (r *Readiness) Examine() bool { return redflag.Hold(r.Flags) }

// SessionOpen reports whether it is open in which unit strength was measured, or on
// which side. What reads like another unit may be a loss of both sides, and what reads
// like exchanged sides would have the weak arm loaded by the strength of the other one:
// nothing is loaded before that is settled.
func (r *Readiness) SessionOpen() bool {
	return slices.ContainsFunc(r.Doubts, func(d *measure.DoubtFound) bool {
		return d.Doubt == measure.UnitMayBeWrong || d.Doubt == measure.SidesMayBeSwapped
	})
}

// LiftUnknown is the movement that may be one of an arm that cannot be lifted: its passive
// range is to be measured before anything is done against resistance. It is unstated if
// there is none.
func (r *Readiness) LiftUnknown() shoulder.Movement {
	for i := range r.Concerns {
		if r.Concerns[i].Kind == PassiveUnknown {
			return r.Concerns[i].Movement
		}
	}
	return shoulder.MovementUnknown
}

// Unsettled reports whether something has to be settled before any load: sides or unit of a
// session, or whether the arm can be lifted.
func (r *Readiness) Unsettled() bool {
	return r.SessionOpen() || r.has(PassiveUnknown)
}

// TooOld reports whether every test of strength is too old to load the shoulder by.
func (r *Readiness) TooOld() bool {
	return r.has(StrengthTooOld)
}

// FlagUnexamined reports whether a red flag of the visit before is gone without an examination.
func (r *Readiness) FlagUnexamined() bool { return r.has(FlagUnexamined) }

func (r *Readiness) has(kind ConcernKind) bool {
	return slices.ContainsFunc(r.Concerns, func(c Concern) bool { return c.Kind == kind })
}

// RangeDisagrees reports whether the active range of a movement was measured several times on
// its latest day, with results that cannot all be right.
func (r *Readiness) RangeDisagrees(movement shoulder.Movement) bool {
	return slices.ContainsFunc(r.Concerns, func(c Concern) bool { return c.Kind == RangesDisagree && c.Active && c.Movement == movement })
}

// ComparisonDeclined reports whether the comparison side is found to have lost
// strength.
func (r *Readiness) ComparisonDeclined() bool {
	return slices.ContainsFunc(r.Doubts, func(d *measure.DoubtFound) bool { return d.Doubt == measure.ComparisonDeclined })
}

// Trained are the motions with steps, which the status rests on.
func (r *Readiness) Trained() []MotionReadiness { return r.Motions[:len(shoulder.Trained)] }

// Gates are the trained positions with their gates, which all motions share.
func (r *Readiness) Gates() []PositionReadiness { return r.Motions[0].Positions }

// AllConfirmed reports whether every trained motion is confirmed to be even in all
// its positions, whatever else keeps functional work closed.
func (r *Readiness) AllConfirmed() bool { return r.everyTrained((*MotionReadiness).AllConfirmed) }

func (r *Readiness) everyTrained(holds func(*MotionReadiness) bool) bool {
	trained := r.Trained()
	for i := range trained {
		if !holds(&trained[i]) {
			return false
		}
	}
	return true
}

// MotionReadiness is where one motion stands. One without steps has only its
// positions, and of them only those in which it was tested.
type MotionReadiness struct {
	Motion shoulder.Motion
	Step   Step
	// Provisional says that the working position is open without a current
	// measurement there, which the plan asks for first.
	Provisional bool
	// PainHolds says that pain is over the limit even at the side: nothing is
	// raised until it settles.
	PainHolds bool
	Positions []PositionReadiness // from the lowest
	// Beside are lower positions that are good enough, or are kept, but not even: they
	// go on.
	Beside []shoulder.ArmPosition
	// Next is the next step up, NoStep if there is none, or none can be told because
	// some of the record is missing.
	Next Step
	// Holding are the criteria that keep Next closed.
	Holding []*Criterion
	// HoldingFree are the criteria that keep the arm supported in the working
	// position; empty if it is free, or at the side.
	HoldingFree []*Criterion
	// SteppedBack is the position that fell below good enough, nil if none did.
	SteppedBack *PositionReadiness
}

// Working is the position in which the rotation is trained now.
func (r *MotionReadiness) Working() shoulder.ArmPosition { return r.Step.Position() }

// At is the readiness in one of its positions.
func (r *MotionReadiness) At(p shoulder.ArmPosition) *PositionReadiness {
	return &r.Positions[slices.IndexFunc(r.Positions, func(x PositionReadiness) bool { return x.Position == p })]
}

// Judge holds the measurements against the protocol as of a date. The red flags go
// before all else: nothing opens functional work while one holds.
func Judge(e *shoulder.Episode, m *measure.Measurements, c *course.Course, flags []redflag.Flag, p *protocol.Protocol, asOf time.Time) *Readiness {
	return (&judge{episode: e, m: m, course: c, p: p, asOf: asOf}).judge(flags)
}

func (j *judge) judge(flags []redflag.Flag) *Readiness {
	r := &Readiness{Flags: flags, Tissue: j.tissue(), ComparisonAffected: j.episode.ComparisonAffected, Incomplete: j.episode.Incomplete, FirstVisit: j.firstVisit()}
	r.Concerns = j.concerns(flags)
	j.findDoubts(r)
	j.lost = slices.ContainsFunc(flags, func(f redflag.Flag) bool { return f.Code == redflag.SuddenStrengthLoss })
	j.likely = j.allEven()
	r.Outcomes = j.outcomes()
	r.Motions = j.motions(&r.Tissue)
	r.Function = j.function(r)
	for i := range r.Trained() {
		r.Motions[i].settle(r, j)
	}
	r.Overall = r.overall()
	r.Demands = j.demands(r)
	return r
}

// firstVisit reports whether all sessions are of one day.
func (j *judge) firstVisit() bool {
	all := j.episode.Sessions
	return len(all) == 0 || measure.DaysBetween(all[0].When, all[len(all)-1].When) == 0
}

// motions judges how strong each motion is. The trained positions have gates
// besides; a motion without steps is shown where it was tested.
func (j *judge) motions(tissue *Tissue) (all []MotionReadiness) {
	var gates [len(shoulder.TrainedPositions)]PositionReadiness
	for i, position := range shoulder.TrainedPositions {
		gates[i] = j.gates(position, tissue)
	}
	all = make([]MotionReadiness, 0, len(shoulder.Motions))
	for _, motion := range shoulder.Trained {
		all = append(all, MotionReadiness{Motion: motion, Positions: slices.Clone(gates[:])})
	}
	for _, motion := range shoulder.Motions[len(shoulder.Trained):] {
		if positions := j.testedIn(motion); len(positions) > 0 {
			all = append(all, MotionReadiness{Motion: motion, Positions: positions})
		}
	}
	for i := range all {
		for k := range all[i].Positions {
			j.strength(&all[i].Positions[k], all[i].Motion)
		}
	}
	return all
}

// testedIn are the positions in which a motion was tested.
func (j *judge) testedIn(motion shoulder.Motion) (all []PositionReadiness) {
	for _, position := range motion.TestedIn() {
		tested := slices.ContainsFunc(j.episode.Sessions, func(s shoulder.Session) bool { return s.Tests(motion, position) })
		if tested {
			all = append(all, PositionReadiness{Position: position})
		}
	}
	return all
}

// findDoubts keeps the doubts that stand and are young enough to matter.
func (j *judge) findDoubts(r *Readiness) {
	for _, d := range j.m.StandingDoubts(j.episode.Involved) {
		if j.current(d.When) {
			r.Doubts = append(r.Doubts, d)
		}
	}
	j.declined = r.ComparisonDeclined()
}

// settle finds the step of a rotation whose positions are judged.
func (r *MotionReadiness) settle(of *Readiness, j *judge) {
	for i := range r.Positions {
		if r.Positions[i].FellFrom != nil {
			r.SteppedBack = &r.Positions[i]
			break
		}
	}
	r.openStep(of, j)
	if !of.Incomplete || r.Step == NoStep {
		r.lookUp(of)
	}
}

// functionOpen reports whether nothing but strength keeps functional work closed.
func (r *Readiness) functionOpen() bool {
	return !r.Incomplete && !r.Examine() && len(r.Doubts)+len(r.Concerns) == 0 && r.Function.Open()
}

// openStep finds the step: the highest position whose lower positions are all good
// enough and whose gates are open. A lower position that was good enough in an earlier
// session keeps the step that it opened then.
func (r *MotionReadiness) openStep(of *Readiness, j *judge) {
	if !of.Tissue.Open() || of.Unsettled() {
		return
	}
	if of.mayStopDirectWork() && of.functionOpen() {
		r.Step = StepFunctional
		return
	}
	r.Step = r.stepWhile(of, (*PositionReadiness).goodEnough)
	if of.has(BothSidesFell) {
		r.Step = min(r.Step, j.stepBeforeChange(of, r))
	}
	if kept := r.stepWhile(of, (*PositionReadiness).goodEnoughOrKept); kept > r.Step {
		r.Step = max(r.Step, min(r.easedIfAllFell(kept), j.stepBefore(r)))
	}
	working := r.At(r.Working())
	r.PainHolds = working.Pain.Verdict == NotMet
	r.Provisional = !working.measured() && working.Doubted == nil && working.Overtaken == nil
	for i := range r.Positions {
		p := &r.Positions[i]
		if p.Position < working.Position && p.goodEnoughOrKept() && p.Even.Verdict != Met {
			r.Beside = append(r.Beside, p.Position)
		}
	}
}

// stepWhile is the highest position whose gates are open and that only positions lie
// below that are good. The arm is held free only where the index itself is good enough.
// An incomplete record opens none above the arm at the side.
func (r *MotionReadiness) stepWhile(of *Readiness, good func(*PositionReadiness) bool) Step {
	working := &r.Positions[0]
	for i := 1; i < len(r.Positions); i++ {
		if of.Incomplete || of.OutcomesHold() || !good(working) || !working.open() || !r.Positions[i].open() {
			break
		}
		working = &r.Positions[i]
	}
	return stepAt(working.Position, working.goodEnough() && working.Steady.Verdict == Met)
}

// AllConfirmed reports whether evenness is confirmed in all three positions.
func (r *MotionReadiness) AllConfirmed() bool {
	return r.every(func(p *PositionReadiness) bool { return p.Confirmed.Verdict == Met })
}

// Unsteady reports whether the arm was seen not to stay still when held free in a
// position: functional work holds it free.
func (r *MotionReadiness) Unsteady() bool {
	return !r.every(func(p *PositionReadiness) bool { return p.Steady.Verdict != NotMet })
}

func (r *MotionReadiness) allOpen() bool {
	return r.every((*PositionReadiness).open)
}

func (r *MotionReadiness) every(holds func(*PositionReadiness) bool) bool {
	for i := range r.Positions {
		if !holds(&r.Positions[i]) {
			return false
		}
	}
	return true
}

// lookUp says what the next step is and what keeps it closed.
func (r *MotionReadiness) lookUp(of *Readiness) {
	tissue, function, outcomes := &of.Tissue, &of.Function, of.holdingOutcomes()
	switch working := r.Working(); {
	case r.Step == StepFunctional:
	case r.Step == NoStep:
		r.Next = StepAtSide
		r.Holding = holding(&tissue.Criterion)
	case working != shoulder.Abduction90:
		up := r.At(working + 1)
		r.Next = stepAt(working+1, false)
		r.Holding = append(holding(&up.Load, &r.At(working).Pain, &up.Pain), outcomes...)
		for i := range r.Positions {
			if below := &r.Positions[i]; below.Position < up.Position {
				r.Holding = append(r.Holding, holding(&below.GoodEnough)...)
			}
		}
		r.Holding = append(r.Holding, holding(&up.Range, &up.RangeMinimum)...)
	default:
		r.Next, r.Holding = StepFunctional, outcomes
		for i := range r.Positions {
			p := &r.Positions[i]
			r.Holding = append(r.Holding, holding(&p.Pain, &p.Range, &p.RangeMinimum, &p.Confirmed)...)
			if p.Steady.Verdict == NotMet {
				r.Holding = append(r.Holding, &p.Steady)
			}
		}
		if r.AllConfirmed() {
			r.Holding = append(r.Holding, holding(function.Criteria()...)...)
			if !of.AllConfirmed() || !of.mayStopDirectWork() && len(r.Holding) == 0 {
				r.Holding = append(r.Holding, otherRotation())
			}
		} else {
			r.Holding = append(r.Holding, holding(&function.Permitted)...)
		}
	}
	if r.Step.Support() == shoulder.Supported {
		p := r.At(r.Working())
		r.HoldingFree = holding(&p.GoodEnough, &p.Steady)
	}
}

func holding(criteria ...*Criterion) (held []*Criterion) {
	for _, c := range criteria {
		if c.Holds() {
			held = append(held, c)
		}
	}
	return held
}

// overall joins the trained motions. What must be settled first goes first.
func (r *Readiness) overall() Overall {
	switch {
	case !r.Tissue.Open():
		return NotCleared
	case r.Examine():
		return ExamineFirst
	case r.Incomplete || r.Unsettled() || !r.everyTrained((*MotionReadiness).measured):
		return InsufficientData
	case r.any(func(p *PositionReadiness) bool { return p.Pain.Verdict == NotMet }):
		return LimitedByPain
	case r.OutcomesHold():
		return LimitedByOutcome
	case r.any(func(p *PositionReadiness) bool { return p.RangeVerdict() == NotMet }):
		return LimitedByRange
	case r.any(func(p *PositionReadiness) bool { return p.RangeVerdict() == NotMeasured }):
		return InsufficientData // whatever strength says, or less strength would look like more
	case r.everyTrained(func(m *MotionReadiness) bool { return m.Step == StepFunctional }):
		return ReadyForFunctional
	}
	return Strengthening
}

// measured reports whether there is a verdict in some position.
func (r *MotionReadiness) measured() bool {
	return !r.every(func(p *PositionReadiness) bool { return !p.measured() })
}

// any asks the trained motions.
func (r *Readiness) any(holds func(*PositionReadiness) bool) bool {
	return !r.everyTrained(func(m *MotionReadiness) bool {
		return m.every(func(p *PositionReadiness) bool { return !holds(p) })
	})
}
