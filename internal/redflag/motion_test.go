package redflag

import (
	"testing"

	"evenreach.example/internal/shoulder"
)

func TestRangeLoss(t *testing.T) {
	abduction := func(degrees string) func(*shoulder.Session) {
		return reach(shoulder.Abduction, right, true, degrees)
	}
	byExaminer := func(id shoulder.ExaminerID, degrees string) func(*shoulder.Session) {
		return func(s *shoulder.Session) {
			active(degrees)(s)
			s.Ranges[len(s.Ranges)-1].Examiner = id
		}
	}
	tests := []struct {
		name string
		of   *shoulder.Episode
		want bool
	}{
		{"flexion 170 to 130", episode(visit(0, active("170")), visit(14, active("130"))), true},
		{"abduction 170 to 130", episode(visit(0, abduction("170")), visit(14, abduction("130"))), true},
		{"on the limit", episode(visit(0, active("170")), visit(14, active("140"))), true},
		{"under the limit", episode(visit(0, active("170")), visit(14, active("141"))), false},
		{"by one examiner", episode(visit(0, byExaminer(1, "170")), visit(14, byExaminer(1, "140"))), true},
		{"against an earlier session", episode(visit(0, active("170")), visit(14, active("150")), visit(28, active("135"))), true},
		{"regained", episode(visit(0, active("170")), visit(14, active("130")), visit(28, active("165"))), false},
		{"twelve weeks ago", episode(visit(0, active("170")), visit(84, active("130"))), true},
		{"longer ago", episode(visit(0, active("170")), visit(85, active("130"))), false},
		{"more range", episode(visit(0, active("130")), visit(14, active("170"))), false},
		{"another movement", episode(visit(0, active("170")), visit(14, abduction("130"))), false},
		{"passive", episode(visit(0, passive("170")), visit(14, passive("130"))), false},
		{"other side", episode(visit(0, reach(shoulder.Flexion, left, true, "170")), visit(14, reach(shoulder.Flexion, left, true, "130"))), false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			flags := found(tt.of)
			if got := codes(flags) == "range-loss"; got != tt.want || !tt.want && len(flags) > 0 {
				t.Errorf("%q, want a loss of range: %v (protocol: 30 degrees within 84 days)", codes(flags), tt.want)
			}
		})
	}
}

func TestTheLargerLossOfRangeIsShown(t *testing.T) {
	of := func(n int, flexion, abduction string) shoulder.Session {
		return visit(n, active(flexion), reach(shoulder.Abduction, right, true, abduction))
	}
	flags := found(episode(of(0, "170", "175"), of(14, "135", "120")))
	if len(flags) != 1 || flags[0].Movement != shoulder.Abduction || flags[0].Then.Value.String() != "175" || flags[0].Now.Value.String() != "120" {
		t.Errorf("%+v, want one: 120 after 175 degrees of abduction (by hand: 55 > 35)", flags)
	}
}

func TestCannotLift(t *testing.T) {
	external := func(involved string) func(*shoulder.Session) {
		return func(s *shoulder.Session) {
			one(right, shoulder.External, shoulder.AtSide, involved, involved, involved)(s)
			one(left, shoulder.External, shoulder.AtSide, "100", "100", "100")(s)
		}
	}
	internal := func(s *shoulder.Session) {
		one(right, shoulder.Internal, shoulder.AtSide, "30", "30", "30")(s)
		one(left, shoulder.Internal, shoulder.AtSide, "100", "100", "100")(s)
	}
	tests := []struct {
		name   string
		visit  shoulder.Session
		want   bool
		source string
	}{
		{"passive 150, active 80", visit(0, active("80"), passive("150")), true, "by hand: 70 >= 30 more"},
		{"passive just enough more", visit(0, active("80"), passive("110")), true, "by hand: 30"},
		{"stiff", visit(0, active("80"), passive("109")), false, "by hand: 29 < 30: it cannot be moved either"},
		{"at shoulder height", visit(0, active("90"), passive("150")), false, "protocol: under 90 degrees"},
		{"weak outwards", visit(0, active("80"), external("49")), true, "protocol: index under 50 %"},
		{"not so weak outwards", visit(0, active("80"), external("50")), false, "protocol: index under 50 %"},
		{"weak inwards", visit(0, active("80"), internal), false, "by definition: external rotation"},
		{"weak and lifting", visit(0, active("150"), external("30")), false, "by definition"},
		{"passive alone", visit(0, passive("150")), false, "by definition: active range is not known"},
		{"other side's passive range", visit(0, active("80"), reach(shoulder.Flexion, left, false, "150")), false, "by definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			flags := found(episode(tt.visit))
			if got := codes(flags) == "cannot-lift"; got != tt.want || !tt.want && len(flags) > 0 {
				t.Errorf("%q, want cannot-lift: %v (%s)", codes(flags), tt.want, tt.source)
			}
		})
	}
}

// An arm in the first weeks after a repair is not expected to lift.
func TestAHealingRepairNeedNotLift(t *testing.T) {
	e := episode(visit(0, active("80"), passive("150")))
	for weeks, want := range map[int]string{8: "", 12: "cannot-lift"} {
		e.Repairs = []shoulder.Repair{{Side: right, Date: at(-7*weeks, 0)}}
		if got := codes(found(e)); got != want {
			t.Errorf("week %d: %q, want %q", weeks, got, want)
		}
	}
}
