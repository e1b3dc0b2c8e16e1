package readiness

import (
	"testing"

	"evenreach.example/internal/shoulder"
)

// oneSided is a visit at which one side alone was tested; left are the strengths of the other.
func oneSided(day int, right, left string) visit {
	v := complete(day, right)
	v.LeftER, v.LeftIR = all(left), all(left)
	return v
}

// without removes the strengths of a side from the last visit.
func without(side shoulder.Side, visits ...visit) *shoulder.Episode {
	e := episode(visits...)
	last := &e.Sessions[len(e.Sessions)-1]
	kept := last.Trials[:0]
	for _, trial := range last.Trials {
		if trial.Side != side {
			kept = append(kept, trial)
		}
	}
	last.Trials = kept
	return e
}

// An index speaks of both sides until one of them is tested again without the other. Each case
// is two even visits 14 days apart, and then one at which a side was left out.
func TestAnIndexIsOvertakenByATestOfOneSide(t *testing.T) {
	grade5 := func(s *shoulder.Session) {
		for _, motion := range shoulder.Trained {
			s.Grades = append(s.Grades, shoulder.Grade{Source: next(), Motion: motion, Position: shoulder.AtSide, Side: shoulder.Right, Value: shoulder.Grade5})
		}
	}
	tests := []struct {
		name      string
		missing   shoulder.Side
		last      visit
		changes   []alter // of the visit before
		overtaken bool
		step      Step
		why       string
	}{
		{"right side alone, the left one 42 days old", shoulder.Left, oneSided(56, "80", "100"), nil, false, StepAbduction90Supported, "at most 42 days are carried forward (protocol)"},
		{"right side alone, the left one 43 days old", shoulder.Left, oneSided(57, "80", "100"), nil, true, StepAtSide, "the index is that of day 14, the strength fell since"},
		{"the same, as strong as before", shoulder.Left, oneSided(57, "100", "100"), nil, true, StepAtSide, "the other side may be stronger by now"},
		{"the same, with a normal grade of the visit before", shoulder.Left, oneSided(57, "80", "100"), []alter{grade5}, true, StepAtSide, "a grade from before the test knows nothing of the fall"},
		{"left side alone, stronger", shoulder.Right, oneSided(35, "100", "130"), nil, true, StepAtSide, "100 of 130 is 77 %, if the right side is as it was"},
		{"left side alone, as strong as before", shoulder.Right, oneSided(35, "100", "100"), nil, true, StepAtSide, "nobody knows the right side of that day"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := without(tt.missing, complete(0, "100"), complete(14, "100"), tt.last)
			for _, change := range tt.changes {
				change(&e.Sessions[1])
			}
			r := judged(e)
			for i := range r.Trained() {
				for k := range r.Motions[i].Positions {
					p := &r.Motions[i].Positions[k]
					if got := p.Overtaken != nil; got != tt.overtaken || tt.overtaken && (p.Symmetry != nil || p.Even.Verdict != NotMeasured || !p.TestedApart()) {
						t.Errorf("%v: overtaken %v with index %v, even %v, want %v (%s)", p.Position, got, p.Symmetry, p.Even.Verdict, tt.overtaken, tt.why)
					}
				}
				if got := r.Motions[i].Step; got != tt.step {
					t.Errorf("step = %v, want %v (%s)", got, tt.step, tt.why)
				}
			}
			if r.Overall == ReadyForFunctional {
				t.Errorf("ready for function (%s)", tt.why)
			}
		})
	}
}

// A visit without any test of strength leaves the index as it is, until it is too old.
func TestAVisitWithoutStrengthOvertakesNothing(t *testing.T) {
	r := judged(episode(complete(0, "100"), complete(14, "100"), visit{Day: 28, Flexion: "170", Abduction: "170", Pain: "1"}))
	if p := &r.Motions[0].Positions[0]; p.Overtaken != nil || p.Symmetry == nil {
		t.Errorf("overtaken %v, index %v, want the index of day 14", p.Overtaken, p.Symmetry)
	}
}
