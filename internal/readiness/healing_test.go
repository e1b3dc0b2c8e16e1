package readiness

import (
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// operated is a shoulder that only healing keeps from abduction, so many weeks
// after its repair on the first day.
func operated(weeks int) *shoulder.Episode {
	e := episode(complete(7*weeks, "80"))
	e.Repairs = []shoulder.Repair{{Source: next(), Side: shoulder.Right, Date: day(0)}}
	return e
}

// Steps by the phase of a repair. The weeks are those of Thigpen et al. 2016 and the
// protocol's own between them; a massive tear's are later.
func TestPhasesOfHealing(t *testing.T) {
	massive := func(e *shoulder.Episode) { e.Tears = []shoulder.Tear{{Source: next(), Centimetres: exact.Int(5)}} }
	clearance := func(week int, yes bool) func(*shoulder.Episode) {
		return func(e *shoulder.Episode) {
			e.Clearances = append(e.Clearances, shoulder.Statement{Source: next(), When: day(7 * week), Cleared: yes})
		}
	}
	permit := func(week int, phase shoulder.LoadPhase) func(*shoulder.Episode) {
		return func(e *shoulder.Episode) {
			e.Permits = append(e.Permits, shoulder.Permit{Source: next(), When: day(7 * week), Phase: phase})
		}
	}
	examined := func(week int, yes bool) func(*shoulder.Episode) {
		return func(e *shoulder.Episode) {
			e.Examinations = append(e.Examinations, shoulder.Statement{Source: next(), When: day(7 * week), IsDay: true, Cleared: yes})
		}
	}
	undatedRefusal := func(e *shoulder.Episode) {
		e.Examinations = append(e.Examinations, shoulder.Statement{Source: next()})
	}
	type stated = []func(*shoulder.Episode)
	tests := []struct {
		name   string
		weeks  int
		stated stated
		phase  shoulder.LoadPhase
		step   Step
	}{
		{"week 11: no resisted work", 11, nil, shoulder.LoadNone, NoStep},
		{"week 12: sub-maximal at the side", 12, nil, shoulder.LoadSubmaximalAtSide, StepAtSide},
		{"week 14: progressive at the side", 14, nil, shoulder.LoadProgressiveAtSide, StepAtSide},
		{"week 15: not elevated yet", 15, nil, shoulder.LoadProgressiveAtSide, StepAtSide},
		{"week 16: elevated positions", 16, nil, shoulder.LoadElevated, StepAbduction90Supported},
		{"week 20: functional work", 20, nil, shoulder.LoadFunctional, StepAbduction90Supported},
		{"week 26: sport", 26, nil, shoulder.LoadSport, StepAbduction90Supported},
		{"massive, week 15", 15, stated{massive}, shoulder.LoadNone, NoStep},
		{"massive, week 16", 16, stated{massive}, shoulder.LoadSubmaximalAtSide, StepAtSide},
		{"massive, week 18", 18, stated{massive}, shoulder.LoadProgressiveAtSide, StepAtSide},
		{"massive, week 20", 20, stated{massive}, shoulder.LoadElevated, StepAbduction90Supported},
		{"massive, week 26", 26, stated{massive}, shoulder.LoadFunctional, StepAbduction90Supported},
		{"massive, week 52", 52, stated{massive}, shoulder.LoadSport, StepAbduction90Supported},
		{"cleared in week 8: the second phase", 8, stated{clearance(8, true)}, shoulder.LoadSubmaximalAtSide, StepAtSide},
		{"cleared in week 8, now week 15: time is ahead", 15, stated{clearance(8, true)}, shoulder.LoadProgressiveAtSide, StepAtSide},
		{"permitted in week 8: elevated", 8, stated{permit(8, shoulder.LoadElevated)}, shoulder.LoadElevated, StepAbduction90Supported},
		{"permitted far too early: it does not count", 8, stated{permit(7, shoulder.LoadElevated)}, shoulder.LoadNone, NoStep},
		{"permitted less in week 20", 20, stated{permit(19, shoulder.LoadProgressiveAtSide)}, shoulder.LoadProgressiveAtSide, StepAtSide},
		{"a later permit goes before an earlier one", 20, stated{permit(10, shoulder.LoadNone), permit(19, shoulder.LoadElevated)}, shoulder.LoadElevated, StepAbduction90Supported},
		{"of one day the more careful permit", 20, stated{permit(19, shoulder.LoadElevated), permit(19, shoulder.LoadSubmaximalAtSide)}, shoulder.LoadSubmaximalAtSide, StepAtSide},
		{"and in the other order", 20, stated{permit(19, shoulder.LoadSubmaximalAtSide), permit(19, shoulder.LoadElevated)}, shoulder.LoadSubmaximalAtSide, StepAtSide},
		{"a permit from before the repair", 8, stated{permit(-1, shoulder.LoadSport)}, shoulder.LoadNone, NoStep},
		{"refused in week 30", 30, stated{clearance(30, false)}, shoulder.LoadNone, NoStep},
		{"a refusal goes before a permit", 30, stated{clearance(29, false), permit(30, shoulder.LoadSport)}, shoulder.LoadNone, NoStep},
		{"a refusal that was taken back", 30, stated{clearance(28, false), clearance(30, true)}, shoulder.LoadSport, StepAbduction90Supported},
		{"examined and found unfit", 30, stated{examined(30, false)}, shoulder.LoadNone, NoStep},
		{"examined again and found fit", 30, stated{examined(28, false), examined(30, true)}, shoulder.LoadSport, StepAbduction90Supported},
		{"found unfit without a date", 30, stated{undatedRefusal, examined(30, true)}, shoulder.LoadNone, NoStep},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := operated(tt.weeks)
			for _, state := range tt.stated {
				state(e)
			}
			r := judged(e)
			if r.Tissue.Healing.Phase != tt.phase {
				t.Errorf("phase = %v, want %v", r.Tissue.Healing.Phase, tt.phase)
			}
			if r.Motions[0].Step != tt.step || r.Motions[1].Step != tt.step {
				t.Errorf("steps = %v, %v, want %v", r.Motions[0].Step, r.Motions[1].Step, tt.step)
			}
			if closed := tt.step == NoStep; closed != (r.Overall == NotCleared) {
				t.Errorf("overall = %v with no step: %v", r.Overall, closed)
			}
		})
	}
}

// Functional work after a repair waits for its phase, whatever strength says; a
// clearance does not bring it forward, the surgeon's permit does.
func TestFunctionAfterARepair(t *testing.T) {
	cleared := []shoulder.Statement{{Source: 1, When: day(1), Cleared: true}}
	permitted := []shoulder.Permit{{Source: 2, When: day(84), Phase: shoulder.LoadFunctional}}
	massive := []shoulder.Tear{{Source: 3, Centimetres: exact.Int(5)}}
	tests := []struct {
		name       string
		weeks      int
		clearances []shoulder.Statement
		permits    []shoulder.Permit
		tears      []shoulder.Tear
		step       Step
	}{
		{"week 19", 19, nil, nil, nil, StepAbduction90Supported},
		{"week 20", 20, nil, nil, nil, StepFunctional},
		{"massive, week 25", 25, nil, nil, massive, StepAbduction90Supported},
		{"massive, week 26", 26, nil, nil, massive, StepFunctional},
		{"cleared, week 10", 10, cleared, nil, nil, StepAtSide},
		{"cleared, week 19", 19, cleared, nil, nil, StepAbduction90Supported},
		{"permitted, week 14", 14, nil, permitted, nil, StepFunctional},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := episode(complete(7*tt.weeks-14, "100"), complete(7*tt.weeks, "100"))
			e.Repairs = []shoulder.Repair{{Source: next(), Side: shoulder.Right, Date: day(0)}}
			e.Clearances, e.Permits, e.Tears = tt.clearances, tt.permits, tt.tears
			r := judged(e)
			if r.Motions[0].Step != tt.step || r.Motions[1].Step != tt.step {
				t.Errorf("steps = %v, %v, want %v", r.Motions[0].Step, r.Motions[1].Step, tt.step)
			}
			if ready := tt.step == StepFunctional; ready != (r.Overall == ReadyForFunctional) {
				t.Errorf("overall = %v at %v", r.Overall, tt.step)
			}
		})
	}
}
