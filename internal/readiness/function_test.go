package readiness

import (
	"slices"
	"testing"

	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
)

// Readiness rests on what the latest session itself measured. Everything is there
// in the first case; each of the others lacks, or spoils, one thing.
func TestReadyRestsOnTheLatestSession(t *testing.T) {
	type change = func(*visit)
	tests := []struct {
		name   string
		change change
		rule   Rule // that holds functional work
	}{
		{"external at the side not measured", func(v *visit) { v.ER[0] = "" }, AllMeasured},
		{"external in flexion not measured", func(v *visit) { v.ER[1] = "" }, AllMeasured},
		{"external in abduction not measured", func(v *visit) { v.ER[2] = "" }, AllMeasured},
		{"internal at the side not measured", func(v *visit) { v.IR[0] = "" }, AllMeasured},
		{"internal in flexion not measured", func(v *visit) { v.IR[1] = "" }, AllMeasured},
		{"internal in abduction not measured", func(v *visit) { v.IR[2] = "" }, AllMeasured},
		{"flexion not measured", func(v *visit) { v.Flexion = "" }, AllMeasured},
		{"abduction not measured", func(v *visit) { v.Abduction = "" }, AllMeasured},
		{"pain in the test not recorded", func(v *visit) { v.Pain = "" }, TestPainLow},
		{"pain in the test 4 of 10", func(v *visit) { v.Pain = "4" }, TestPainLow},
		{"pain at rest not recorded", func(v *visit) { v.RestPain = "" }, RestPainLow},
		{"pain at rest 4 of 10", func(v *visit) { v.RestPain = "4" }, RestPainLow},
		{"worst pain not recorded", func(v *visit) { v.WorstPain = "" }, WorstPainKnown},
	}
	ready := judged(episode(complete(0, "100"), complete(14, "100")))
	if ready.Overall != ReadyForFunctional {
		t.Fatalf("with everything: overall = %v, want ready", ready.Overall)
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			last := complete(14, "100")
			tt.change(&last)
			r := judged(episode(complete(0, "100"), last))
			if r.Overall != Strengthening || r.Motions[0].Step == StepFunctional || r.Motions[1].Step == StepFunctional {
				t.Errorf("overall %v, steps %v, %v, want strengthening", r.Overall, r.Motions[0].Step, r.Motions[1].Step)
			}
			for _, c := range r.Function.Criteria() {
				if c.Holds() != (c.Rule == tt.rule) {
					t.Errorf("%v holds: %v, want only %v to hold", c.Rule, c.Holds(), tt.rule)
				}
			}
		})
	}
}

// The comparison side's strength of the session before is no measurement of today.
func TestReadyNeedsTheComparisonSideOfTheLatestSession(t *testing.T) {
	for _, position := range shoulder.TrainedPositions {
		e := episode(complete(0, "100"), complete(14, "100"))
		e.Sessions[1].Trials = slices.DeleteFunc(e.Sessions[1].Trials, func(x shoulder.Trial) bool {
			return x.Side == shoulder.Left && x.Position == position && x.Motion == shoulder.External
		})
		r := judged(e)
		if r.Overall == ReadyForFunctional || !r.Function.AllMeasured.Holds() {
			t.Errorf("%v: overall = %v, want the comparison side to be asked for", position, r.Overall)
		}
	}
}

// A later visit with nothing but a pain score is the latest session, and measured
// no strength.
func TestALaterVisitWithoutStrengthIsNotReady(t *testing.T) {
	r := judged(episode(complete(0, "100"), complete(14, "100"), visit{Day: 15, Pain: "1", RestPain: "1", WorstPain: "1"}))
	if r.Overall != Strengthening || !r.Function.AllMeasured.Holds() {
		t.Errorf("overall = %v, want strengthening until everything is measured in one session", r.Overall)
	}
}

// A red flag goes before strength; after an examination that clears the shoulder it
// is shown and no longer holds.
func TestAFlagGoesBeforeStrength(t *testing.T) {
	first, last := complete(0, "100"), complete(14, "100")
	first.WorstPain, last.WorstPain = "6", "8" // over 7, and no surge of 3
	e := episode(first, last)
	if r := judged(e); r.Overall != ExamineFirst || r.Motions[0].Step == StepFunctional || r.Flags[0].Code != redflag.HighRestPain {
		t.Errorf("overall %v, step %v, flags %v, want to be examined first", r.Overall, r.Motions[0].Step, r.Flags)
	}
	e.Examinations = []shoulder.Statement{{Source: next(), When: day(14), IsDay: true, Cleared: true}}
	if r := judged(e); r.Overall != ReadyForFunctional || len(r.Flags) != 1 || r.Examine() {
		t.Errorf("overall %v, %d flags, want the flag examined and no longer holding", r.Overall, len(r.Flags))
	}
}

// Doubtful trials of one test decide nothing, and close functional work for both
// rotations until they are repeated or confirmed.
func TestADoubtClosesFunction(t *testing.T) {
	last := complete(14, "100")
	last.ER[1] = "95 95 160"
	e := episode(complete(0, "100"), last)
	r := judged(e)
	p := r.Motions[0].At(flexion)
	if p.Doubted == nil || p.GoodEnough.Basis != Doubted || p.GoodEnough.Verdict != NotMeasured || p.Even.Verdict != NotMeasured {
		t.Errorf("external in flexion: %v on %v, even %v, want it to decide nothing", p.GoodEnough.Verdict, p.GoodEnough.Basis, p.Even.Verdict)
	}
	if len(r.Doubts) != 1 || r.Motions[0].Step == StepFunctional || r.Motions[1].Step == StepFunctional || r.Overall == ReadyForFunctional {
		t.Errorf("%d doubts, steps %v, %v, overall %v, want no functional work", len(r.Doubts), r.Motions[0].Step, r.Motions[1].Step, r.Overall)
	}
	for i := range e.Sessions[1].Trials {
		e.Sessions[1].Trials[i].Confirmed = true
	}
	if r := judged(e); len(r.Doubts) != 0 || r.Motions[0].At(flexion).Doubted != nil {
		t.Errorf("%d doubts after confirmation, want none", len(r.Doubts))
	}
}

// Trials that disagree under another condition of the same session say that something
// went wrong there; the condition that decides is even all the same.
func TestADoubtBesideWhatDecidesClosesFunction(t *testing.T) {
	e := episode(complete(0, "100"), complete(14, "100"))
	beside := visit{Day: 14, ER: [3]string{"120 220"}, LeftER: [3]string{"125 125"}, Break: true}.Session()
	e.Sessions[1].Trials = append(e.Sessions[1].Trials, beside.Trials...)
	r := judged(e)
	if !r.AllConfirmed() || len(r.Doubts) != 1 {
		t.Fatalf("confirmed %v with %d doubts, want everything confirmed beside one doubt", r.AllConfirmed(), len(r.Doubts))
	}
	if r.Overall == ReadyForFunctional || r.Motions[0].Step == StepFunctional || r.Motions[1].Step == StepFunctional {
		t.Errorf("overall %v, steps %v, %v, want no functional work", r.Overall, r.Motions[0].Step, r.Motions[1].Step)
	}
}
