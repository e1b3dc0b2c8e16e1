package readiness

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/shoulder"
)

// drawVisits draws a history with strengths from 40 to 130 per cent.
func drawVisits(t *rapid.T) []visit {
	visits := make([]visit, rapid.IntRange(1, 4).Draw(t, "visits"))
	strength := func(label string) (values [3]string) {
		for i := range values {
			if rapid.IntRange(0, 5).Draw(t, label+" given") > 0 {
				values[i] = fmt.Sprint(rapid.IntRange(40, 130).Draw(t, label))
			}
		}
		return values
	}
	for i := range visits {
		v := &visits[i]
		v.Day = 14 * i
		v.ER, v.IR = strength("er"), strength("ir")
		v.Flexion = fmt.Sprint(rapid.IntRange(60, 180).Draw(t, "flexion"))
		v.Abduction = fmt.Sprint(rapid.IntRange(60, 180).Draw(t, "abduction"))
		v.Pain = fmt.Sprint(rapid.IntRange(0, 10).Draw(t, "pain"))
		if rapid.Bool().Draw(t, "steady") {
			v.Steady = []shoulder.ArmPosition{flexion, abduction}
		}
	}
	return visits
}

func steps(r *Readiness) [2]Step { return [2]Step{r.Motions[0].Step, r.Motions[1].Step} }

// A better result never lowers a step, unless it is so good that it is in doubt.
func TestBetterNeverLowersAStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		visits := drawVisits(t)
		before := judged(episode(visits...))
		v := &visits[rapid.IntRange(0, len(visits)-1).Draw(t, "which")]
		position := rapid.IntRange(0, 2).Draw(t, "position")
		if v.ER[position] == "" {
			return
		}
		var strength int
		if _, err := fmt.Sscan(v.ER[position], &strength); err != nil {
			t.Fatal(err)
		}
		v.ER[position] = fmt.Sprint(strength + rapid.IntRange(1, 60).Draw(t, "gain"))
		after := judged(episode(visits...))
		if len(after.Doubts) > 0 {
			return
		}
		if after.Motions[0].Step < before.Motions[0].Step {
			t.Fatalf("step fell from %v to %v on a better result", before.Motions[0].Step, after.Motions[0].Step)
		}
		if after.Motions[1].Step != before.Motions[1].Step {
			t.Fatalf("internal rotation moved from %v to %v with external", before.Motions[1].Step, after.Motions[1].Step)
		}
	})
}

// More range and less pain never lower a step.
func TestMoreRangeAndLessPainNeverLowerAStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		visits := drawVisits(t)
		before := steps(judged(episode(visits...)))
		for i := range visits {
			visits[i].Flexion, visits[i].Abduction, visits[i].Pain = "180", "180", "0"
		}
		after := steps(judged(episode(visits...)))
		for i := range after {
			if after[i] < before[i] {
				t.Fatalf("step fell from %v to %v", before[i], after[i])
			}
		}
	})
}

// A longer wait never opens the tissue gate without time or clearance: with no
// date and no clearance it stays closed for ever.
func TestWaitingAloneNeverClears(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := episode(visit{Day: rapid.IntRange(0, 3000).Draw(t, "day"), ER: all("80"), IR: all("80"), Flexion: "160", Abduction: "160"})
		e.Repairs = []shoulder.Repair{{Side: shoulder.Right}}
		if r := judged(e); r.Overall != NotCleared {
			t.Fatalf("overall = %v, want not cleared", r.Overall)
		}
	})
}

// No step is open in a position whose range is not open, and a step above the
// side rests on lower positions that are good enough.
func TestOpenStepHonoursTheGates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := judged(episode(drawVisits(t)...))
		for i := range r.Motions {
			motion := &r.Motions[i]
			working := motion.Working()
			if !working.Elevated() {
				continue
			}
			if !motion.At(working).open() {
				t.Fatalf("%v is open with its gates closed", motion.Step)
			}
			for p := shoulder.AtSide; p < working; p++ {
				if !motion.At(p).goodEnoughOrKept() {
					t.Fatalf("%v is open although %v is %v", motion.Step, p, motion.At(p).GoodEnough.Verdict)
				}
			}
		}
	})
}
