package readiness

import (
	"slices"
	"testing"

	"evenreach.example/internal/shoulder"
)

// A grade below good enough (the protocol's, 4 of 5) beside an even index: one of the two is a
// slip, and the shoulder is not ready by the other. Common practice.
func TestAManualTestContradictsAnIndex(t *testing.T) {
	tests := []struct {
		name     string
		grade    shoulder.MuscleGrade
		session  int
		index    string
		side     shoulder.Side
		concerns bool
	}{
		{"less by hand at the same visit", shoulder.Grade3Minus, 1, "100", shoulder.Right, true},
		{"good enough by hand", shoulder.Grade4, 1, "100", shoulder.Right, false},
		{"less by hand before the index", shoulder.Grade3Minus, 0, "100", shoulder.Right, false},
		{"less by hand and by the index", shoulder.Grade3Minus, 1, "60", shoulder.Right, false},
		{"less by hand on the other side", shoulder.Grade3Minus, 1, "100", shoulder.Left, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := episode(complete(0, tt.index), complete(14, tt.index))
			e.Sessions[tt.session].Grades = append(e.Sessions[tt.session].Grades, shoulder.Grade{
				Source: next(), Side: tt.side, Motion: shoulder.External, Position: flexion, Value: tt.grade,
			})
			r := judged(e)
			has := slices.ContainsFunc(r.Concerns, func(c Concern) bool { return c.Kind == GradeContradicts && c.Grade == tt.grade })
			if has != tt.concerns {
				t.Errorf("concerns %v, want one of the grade: %t", r.Concerns, tt.concerns)
			}
			if has && r.Overall == ReadyForFunctional {
				t.Error("ready beside a manual test that says otherwise")
			}
		})
	}
}
