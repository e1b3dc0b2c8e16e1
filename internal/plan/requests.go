package plan

import (
	"slices"

	"evenreach.example/internal/healing"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// wanted lists what to find out next. While resisted work is not cleared no
// strength test and no active range is asked for: motion after a repair is the
// surgeon's to set.
//
// A red flag asks for an examination first, and for nothing that loads the shoulder.
// Then come the part of the record that is missing, and the doubts.
func (b *builder) wanted() (all []Request) {
	all = append(all, b.flagRequests()...)
	if b.r.Incomplete {
		all = append(all, b.request(Request{Ask: AskRecord, Why: WhyIncomplete, First: true}))
	}
	all = append(all, b.doubtRequests()...)
	if !b.r.Tissue.Open() {
		return append(all, b.healingRequests()...)
	}
	if b.r.Examine() {
		return all
	}
	if low := b.r.LiftUnknown(); low != shoulder.MovementUnknown {
		all = append(all, b.request(Request{Ask: AskPassive, Why: WhyMissing, Movement: low, First: true}))
	}
	all = append(all, b.rangeRequests()...)
	if b.painUnknown() {
		all = append(all, b.request(Request{Ask: AskPain, Why: WhyMissing, First: true}))
	}
	all = append(all, b.outcomeRequests()...)
	for i := range b.r.Trained() {
		for k := range b.r.Motions[i].Positions {
			all = append(all, b.strengthRequests(&b.r.Motions[i], &b.r.Motions[i].Positions[k])...)
		}
	}
	all = append(all, b.steadinessRequests()...)
	all = append(all, b.functionRequests()...)
	return append(all, b.demandRequests(all)...)
}

// outcomeRequests ask for an outcome measure that is a gate: one that is not recorded
// comes first, as pain does; one that holds is asked for at the re-check. Once all else
// is there, functional work asks for those of the latest session.
func (b *builder) outcomeRequests() (all []Request) {
	for i := range b.r.Outcomes {
		r := Request{Ask: AskOutcome, Outcome: b.r.Outcomes[i].Outcome}
		switch {
		case b.r.Outcomes[i].Verdict == readiness.NotMeasured:
			r.Why, r.First = WhyMissing, true
		case b.r.Outcomes[i].Holds():
			r.Why = WhyRoutineCheck
		case b.r.AllConfirmed() && b.r.Function.Outcomes[i].Holds():
			r.Why, r.First = WhyBeforeFunction, true
		default:
			continue
		}
		all = append(all, b.request(r))
	}
	return all
}

// flagRequests ask for the examination that a red flag calls for, and for the
// surgeon after a repair or a sudden loss.
func (b *builder) flagRequests() (all []Request) {
	if !b.r.Examine() {
		if b.r.FlagUnexamined() {
			return []Request{b.request(Request{Ask: AskExamination, Why: WhyUnexamined, First: true})}
		}
		return nil
	}
	all = append(all, b.request(Request{Ask: AskExamination, Why: WhyRedFlag, First: true}))
	surgeon := b.r.Tissue.Healing.Repair != nil
	for i := range b.r.Flags {
		f := &b.r.Flags[i]
		surgeon = surgeon || f.Holds() && callsForSurgeon(f.Code)
	}
	if surgeon {
		all = append(all, b.request(Request{Ask: AskSurgeon, Why: WhyRedFlag, First: true}))
	}
	return all
}

// callsForSurgeon reports whether a flag may be a tear or an injured nerve, which the
// surgeon or the referring physician has to know of.
func callsForSurgeon(code redflag.Code) bool {
	switch code {
	case redflag.SuddenStrengthLoss, redflag.RangeLoss, redflag.NearZeroForce, redflag.CannotLift:
		return true
	}
	return false
}

// doubtRequests ask to repeat or to confirm what is in doubt. While a red flag holds
// or a repair is not to be loaded no test is asked for, only whether the numbers are
// right.
func (b *builder) doubtRequests() (all []Request) {
	mayTest := !b.r.Examine() && b.r.Tissue.Open() && !b.submaximal()
	for _, d := range b.r.Doubts {
		r := Request{First: true, Motion: d.Score.Motion, Position: d.Score.Position}
		switch d.Doubt {
		case measure.TrialsDisagree:
			r.Ask, r.Why = AskStrength, WhyTrialsDisagree
		case measure.SidesMayBeSwapped:
			r.Ask, r.Why, r.Motion, r.Position = AskSides, WhySidesMayBeSwapped, 0, 0
		case measure.UnitMayBeWrong:
			r.Ask, r.Why, r.Motion, r.Position = AskUnit, WhyUnitMayBeWrong, 0, 0
		case measure.ComparisonDeclined:
			r.Ask, r.Why, r.Motion, r.Position = AskComparison, WhyComparisonDeclined, 0, 0
		}
		if mayTest || r.Ask == AskSides || r.Ask == AskUnit {
			all = append(all, b.request(r))
		}
	}
	return all
}

// functionRequests ask for what functional work needs to know, once the strength of a
// rotation is there: everything that it is said to wait for.
func (b *builder) functionRequests() (all []Request) {
	f := &b.r.Function
	ask := func(c *readiness.Criterion, what Ask) {
		if c.Verdict != readiness.Met {
			all = append(all, b.request(Request{Ask: what, Why: WhyBeforeFunction, First: true}))
		}
	}
	trained := b.r.Trained()
	confirmed := slices.ContainsFunc(trained, func(m readiness.MotionReadiness) bool { return m.AllConfirmed() })
	if f.RestPain.Verdict == readiness.NotMeasured && (confirmed || b.allWorkElevated()) {
		ask(&f.RestPain, AskRestPain)
	}
	if confirmed {
		if f.TestPain.Verdict == readiness.NotMeasured && !b.painUnknown() { // which is asked for already
			ask(&f.TestPain, AskPain)
		}
		ask(&f.WorstPain, AskWorstPain)
		ask(&f.AllMeasured, AskComplete)
	}
	return all
}

// request dates a request: the next visit if it comes first, else the re-check.
func (b *builder) request(r Request) Request {
	r.When = b.recheck
	if r.First {
		r.When.From = b.asOf
	}
	return r
}

func (b *builder) healingRequests() (all []Request) {
	if b.r.Tissue.Undated() {
		all = append(all, b.request(Request{Ask: AskRepairDate, Why: WhyMissing, First: true}))
	}
	why := WhyHealing
	if b.r.Tissue.Healing.Basis == healing.Refused {
		why = WhyRefused
	}
	return append(all, b.request(Request{Ask: AskClearance, Why: why, First: true}))
}

// rangeRequests asks first for a range that holds an elevated position because
// it is unknown, and at the re-check for one that is not yet met.
func (b *builder) rangeRequests() (all []Request) {
	for i := range b.r.Gates() {
		position := b.r.Gates()[i].Position
		if position.Elevated() && b.r.RangeDisagrees(position.Elevation()) {
			all = append(all, b.request(Request{Ask: AskRange, Why: WhyRangesDisagree, Movement: position.Elevation(), First: true}))
			continue
		}
		switch b.r.Gates()[i].RangeVerdict() {
		case readiness.NotMeasured:
			all = append(all, b.request(Request{Ask: AskRange, Why: WhyMissing, Movement: position.Elevation(), First: true}))
		case readiness.NotMet:
			all = append(all, b.request(Request{Ask: AskRange, Why: WhyRoutineCheck, Movement: position.Elevation()}))
		}
	}
	return all
}

func (b *builder) painUnknown() bool {
	for i := range b.r.Gates() {
		if b.r.Gates()[i].Pain.Verdict != readiness.NotMeasured {
			return false
		}
	}
	return true
}

// strengthRequests asks for the strength of a position whose range is open.
func (b *builder) strengthRequests(r *readiness.MotionReadiness, p *readiness.PositionReadiness) []Request {
	if v := p.RangeVerdict(); v != readiness.Met && v != readiness.NotApplicable || !b.mayTest(p) {
		return nil
	}
	ask := Request{Ask: AskStrength, Motion: r.Motion, Position: p.Position}
	switch {
	case p.Doubted != nil && p.GoodEnough.Basis == readiness.TooFaint:
		ask.Why = WhyTooFaint
	case p.Doubted != nil && (p.Doubted.Involved.Doubts.Denied() || p.Doubted.Comparison.Doubts.Denied()):
		ask.Why, ask.First = WhyDenied, true
	case p.Doubted != nil:
		return nil // doubts ask for themselves
	case p.Symmetry != nil && p.Confirmed.Verdict == readiness.Met:
		if !b.r.AllConfirmed() || !b.r.Function.AllEven.Holds() {
			return nil
		}
		ask.Why = WhyAllEven
	case b.r.ComparisonAffected && (p.Change != nil || p.Latest != nil):
		ask.Why = WhyNoYardstick
	case p.Symmetry != nil && p.Even.Verdict == readiness.Met:
		ask.Why = WhyConfirm
	case p.Symmetry != nil:
		ask.Why = WhyRoutineCheck
	case p.TestedApart():
		ask.Why, ask.First = WhyApart, true
	case p.Unpaired != nil:
		ask.Why, ask.Mismatch, ask.First = WhyNotAlike, p.Unpaired.Reason, true
	case p.Grade != shoulder.GradeUnknown:
		ask.Why, ask.First = WhyManualOnly, true
	case p.Stale != nil:
		ask.Why, ask.First = WhyStale, true
	case r.Provisional && r.Working() == p.Position:
		ask.Why, ask.First = WhyProvisional, true
	default:
		ask.Why, ask.First = WhyMissing, p.Position == shoulder.AtSide
	}
	if p.Symmetry != nil && !ask.First {
		ask.Settles = b.settles(p.Symmetry.Setting)
	}
	return []Request{b.request(ask)}
}

// mayTest reports whether a resisted test, which asks for full effort, is within the
// load that a repair permits in a position.
func (b *builder) mayTest(p *readiness.PositionReadiness) bool {
	return !p.Load.Holds() && !b.submaximal()
}

// steadinessRequests asks once for each working position that is good enough
// but for which nobody has noted whether the arm stays still.
func (b *builder) steadinessRequests() (all []Request) {
	asked := map[shoulder.ArmPosition]bool{}
	for i := range b.r.Trained() {
		r := &b.r.Motions[i]
		position := r.Working()
		if !position.Elevated() || asked[position] {
			continue
		}
		at := r.At(position)
		if at.GoodEnough.Verdict == readiness.Met && at.Steady.Verdict == readiness.NotMeasured {
			asked[position] = true
			all = append(all, b.request(Request{Ask: AskSteadiness, Why: WhyMissing, Position: position, First: true}))
		}
	}
	return all
}
