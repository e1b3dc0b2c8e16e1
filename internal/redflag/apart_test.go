package redflag

import (
	"testing"

	"evenreach.example/internal/shoulder"
)

// gradeIn is a manual grade of one rotation and position.
func gradeIn(side shoulder.Side, r shoulder.Motion, p shoulder.ArmPosition, g shoulder.MuscleGrade) func(*shoulder.Session) {
	return func(s *shoulder.Session) {
		s.Grades = append(s.Grades, shoulder.Grade{Motion: r, Position: p, Side: side, Value: g})
	}
}

// others are measurements of everything but external rotation at the side, flexion and
// pain in the test of the involved shoulder: the same each time.
func others(s *shoulder.Session) {
	for _, part := range []func(*shoulder.Session){
		gradeIn(left, shoulder.External, shoulder.AtSide, shoulder.Grade5),
		gradeIn(right, shoulder.Internal, shoulder.AtSide, shoulder.Grade5),
		gradeIn(right, shoulder.External, shoulder.Flexion90, shoulder.Grade5),
		reach(shoulder.Flexion, left, true, "170"),
		reach(shoulder.Abduction, right, true, "160"),
		reach(shoulder.Flexion, right, false, "172"),
		pain(worst, "1"), pain(rest, "0"),
	} {
		part(s)
	}
}

// What else was measured, before or after it in a session, neither hides a loss nor makes
// one.
func TestOtherMeasurementsStandApart(t *testing.T) {
	own := func(g shoulder.MuscleGrade) func(*shoulder.Session) {
		return gradeIn(right, shoulder.External, shoulder.AtSide, g)
	}
	const loss, ranges, surge = "sudden-strength-loss", "range-loss", "pain-surge"
	tests := []struct {
		name          string
		before, after []func(*shoulder.Session) // one session each
		want          string
	}{
		{"grade", only(own(shoulder.Grade5)), only(own(shoulder.Grade3)), loss},
		{"grade that stays", only(own(shoulder.Grade4)), only(own(shoulder.Grade4)), ""},
		{"grade of a rotation, then of the other", only(own(shoulder.Grade5)), only(gradeIn(right, shoulder.Internal, shoulder.Abduction90, shoulder.Grade3)), ""},
		{"grade of a position, then of another", only(own(shoulder.Grade5)), only(gradeIn(right, shoulder.External, shoulder.Abduction90, shoulder.Grade3)), ""},
		{"grade of the other side", only(gradeIn(left, shoulder.External, shoulder.Abduction90, shoulder.Grade5)), only(gradeIn(left, shoulder.External, shoulder.Abduction90, shoulder.Grade3)), ""},
		{"grade of the other side, then of this", only(gradeIn(left, shoulder.External, shoulder.Abduction90, shoulder.Grade5)), only(gradeIn(right, shoulder.External, shoulder.Abduction90, shoulder.Grade3)), ""},
		{"grade that rose and fell", []func(*shoulder.Session){own(shoulder.Grade3), own(shoulder.Grade5)}, only(own(shoulder.Grade3)), loss},
		{"range", only(active("170")), only(active("130")), ranges},
		{"range that stays", only(active("170")), only(active("165")), ""},
		{"range a session ago", only(active("170")), []func(*shoulder.Session){active("130"), active("132")}, ranges},
		{"pain", only(pain(test, "2")), only(pain(test, "6")), surge},
		{"pain that stays", only(pain(test, "2")), only(pain(test, "3")), ""},
		{"pain that was least in between", []func(*shoulder.Session){pain(test, "4"), pain(test, "2"), pain(test, "4")}, only(pain(test, "6")), surge},
	}
	for _, tt := range tests {
		for where, visitOf := range map[string]func(int, func(*shoulder.Session)) shoulder.Session{
			"alone":         func(n int, p func(*shoulder.Session)) shoulder.Session { return visit(n, p) },
			"before others": func(n int, p func(*shoulder.Session)) shoulder.Session { return visit(n, p, others) },
			"after others":  func(n int, p func(*shoulder.Session)) shoulder.Session { return visit(n, others, p) },
		} {
			t.Run(tt.name+" "+where, func(t *testing.T) {
				e := episode()
				for i, p := range append(append([]func(*shoulder.Session){}, tt.before...), tt.after...) {
					e.Sessions = append(e.Sessions, visitOf(7*i, p))
				}
				if got := codes(found(e)); got != tt.want {
					t.Errorf("%q, want %q (by definition: like is held against like)", got, tt.want)
				}
			})
		}
	}
}

func only(p func(*shoulder.Session)) []func(*shoulder.Session) { return []func(*shoulder.Session){p} }

// The external rotation beside an arm that does not lift is the weakest of the latest session
// that has one, whatever earlier ones were.
func TestWeakestExternalRotationOfTheLatestSession(t *testing.T) {
	index := func(p shoulder.ArmPosition, involved string) func(*shoulder.Session) {
		return func(s *shoulder.Session) {
			one(right, shoulder.External, p, involved, involved, involved)(s)
			one(left, shoulder.External, p, "100", "100", "100")(s)
		}
	}
	strongInwards := func(s *shoulder.Session) {
		one(right, shoulder.Internal, shoulder.AtSide, "100", "100", "100")(s)
		one(left, shoulder.Internal, shoulder.AtSide, "100", "100", "100")(s)
	}
	weak, strong := index(shoulder.AtSide, "40"), index(shoulder.AtSide, "90")
	tests := []struct {
		name string
		of   *shoulder.Episode
		want bool
	}{
		{"weak at the side, strong in flexion", episode(visit(0, active("80"), weak, index(shoulder.Flexion90, "90"))), true},
		{"strong at the side, weak in flexion", episode(visit(0, active("80"), strong, index(shoulder.Flexion90, "40"))), true},
		{"strong in both", episode(visit(0, active("80"), strong, index(shoulder.Flexion90, "80"))), false},
		{"weak, and strong inwards", episode(visit(0, active("80"), weak, strongInwards)), true},
		{"weak once, strong now", episode(visit(0, weak), visit(14, active("80"), strong)), false},
		{"weak, then only inwards", episode(visit(0, weak), visit(14, active("80"), strongInwards)), true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := codes(found(tt.of)) == "cannot-lift"; got != tt.want {
				t.Errorf("%q, want cannot-lift: %v (protocol: the index of external rotation under 50 %%)", codes(found(tt.of)), tt.want)
			}
		})
	}
}
