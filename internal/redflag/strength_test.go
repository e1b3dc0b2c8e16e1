package redflag

import (
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// A fall from then to now has a standard error of sqrt(2) x error x the mean of
// both. Several tests together need 2.576 of them against one session, 3.023
// against each of four; a single test of six 3.144 and 3.529.
func TestSuddenStrengthLoss(t *testing.T) {
	tests := []struct {
		name   string
		course string
		error  int
		want   bool
		source string
	}{
		{"half, 7 % error", "80/100 40/100", 7, true, "by hand: 40 / (1.414 x 5) = 5.7; the floor of 5 N is larger than 7 % of 60"},
		{"half, 10 % error", "80/100 40/100", 10, true, "by hand: 40 / 8.49 = 4.7"},
		{"half, 14 % error", "80/100 40/100", 14, true, "by hand: 40 / 11.9 = 3.4"},
		{"half after four sessions, 14 % error", "80/100 80/100 80/100 80/100 40/100", 14, true, "by hand: 3.4 > 3.023"},
		{"half a session ago, and still", "80/100 40/100 40/100", 10, true, "by hand: 4.7 against the session before the last"},
		{"slowly to a half", "80/100 70/100 60/100 50/100 40/100", 10, true, "by hand: 4.7 > 3.023 against the first"},
		{"a quarter, 10 % error", "80/100 60/100", 10, false, "by hand: 20 / 9.9 = 2.0"},
		{"a quarter, 5 % error", "80/100 60/100", 5, true, "by hand: 20 / (1.414 x 5) = 2.8"},
		{"a third, 10 % error", "81/100 54/100", 10, true, "by hand: 27 / 9.5 = 2.8"},
		{"a third, 14 % error", "81/100 54/100", 14, false, "by hand: 27 / 13.4 = 2.0"},
		{"regained", "80/100 40/100 78/100", 10, false, "by definition: the latest strength counts"},
		{"a fast recoverer", "60/100 75/100 88/100 100/100", 10, false, "by definition: it rises"},
		{"a very strong athlete", "120/100 118/100 121/100", 10, false, "by hand: 2 N are nothing"},
		{"an old patient with a weak comparison side", "24/20 17/18 22/21", 10, false, "by hand: 2 to 7 N; 7 / 7.07 = 1.0 on the floor of 5 N"},
		{"weak, from 22 to 11", "22/25 11/25", 10, false, "by hand: 11 / 7.07 = 1.6: half, but within error"},
		{"only the comparison side", "80/100 80/60", 10, false, "by definition: another matter"},
		{"nothing before", "40/100", 10, false, "by definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := course(tt.course)
			flags := find(e, withError(tt.error), e.Sessions[len(e.Sessions)-1].When)
			if got := codes(flags) == "sudden-strength-loss"; got != tt.want || !tt.want && len(flags) > 0 {
				t.Errorf("%s at %d %%: %q, want a loss: %v (%s)", tt.course, tt.error, codes(flags), tt.want, tt.source)
			}
		})
	}
}

func TestLossInSomeTests(t *testing.T) {
	external := func(p shoulder.ArmPosition, value string) func(*shoulder.Session) {
		return one(right, shoulder.External, p, value, value, value)
	}
	before := visit(0, six(right, "80"))
	tests := []struct {
		name   string
		now    shoulder.Session
		tests  int
		source string
	}{
		{"one by a large share", visit(14, external(shoulder.AtSide, "40")), 1, "by hand: 50 %; 4.7 > 2.576"},
		{"one by less", visit(14, external(shoulder.AtSide, "50")), 0, "by hand: 37.5 % < 40 %, although 3.3 > 2.576"},
		{"two by less", visit(14, external(shoulder.AtSide, "50"), external(shoulder.Flexion90, "50")), 2, "by hand: 3.3 > 2.576 in both"},
		{"two, one within error", visit(14, external(shoulder.AtSide, "55"), external(shoulder.Flexion90, "60")), 0, "by hand: 2.0 < 2.576; together 2.68 < 2.935"},
		{"two, one within error, together not", visit(14, external(shoulder.AtSide, "50"), external(shoulder.Flexion90, "60")), 2, "by hand: (30 / 65 + 20 / 70) / 2 / sqrt(0.02 x 0.75) = 3.05 > 2.935"},
		{"thirteen weeks later", visit(91, external(shoulder.AtSide, "40")), 1, "by definition: the session before counts however long ago"},
		{"twelve weeks later", visit(84, external(shoulder.AtSide, "40")), 1, "protocol: within 84 days"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			flags := found(episode(before, tt.now))
			if len(flags) != min(tt.tests, 1) || tt.tests > 0 && flags[0].Tests != tt.tests {
				t.Errorf("%+v, want a loss in %d tests (%s)", flags, tt.tests, tt.source)
			}
		})
	}
}

func TestTheLossIsShownByItsNumbers(t *testing.T) {
	f := found(course("80/100 40/100"))[0]
	if f.Now.Value.String() != "40" || f.Then.Value.String() != "80" || f.Now.Unit != "N" || !f.Then.When.Equal(day(0)) || f.Tests != 6 {
		t.Errorf("%+v, want 40 N after 80 N of the first day in six tests", f)
	}
}

// A doubt about trials or sides does not hide a loss; where both sides read like
// another unit, the unit is settled first.
func TestALossInDoubt(t *testing.T) {
	tests := []struct {
		name string
		of   *shoulder.Episode
		want string
	}{
		{"one trial of the lower ones apart", episode(visit(0, both("80/100")), visit(14, lowTrials)), "sudden-strength-loss"},
		{"sides may be exchanged", course("200/190 100/70"), "sudden-strength-loss"},
		{"all in kgf", course("80/100 8.16/10.2"), ""},
		{"only the involved side tested, as if in kgf", episode(visit(0, both("80/100")), visit(14, six(right, "8.16"))), "sudden-strength-loss near-zero-force"},
		{"only the involved side tested, as if in lbf", episode(visit(0, both("80/100")), visit(14, six(right, "18"))), "sudden-strength-loss"},
		{"only the involved side as if in kgf", course("80/100 8.16/100"), "sudden-strength-loss near-zero-force"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := codes(found(tt.of)); got != tt.want {
				t.Errorf("%q, want %q (by definition)", got, tt.want)
			}
		})
	}
}

// lowTrials is a test whose trials disagree, with a mean of 30 N.
func lowTrials(s *shoulder.Session) {
	one(right, shoulder.External, shoulder.AtSide, "20", "20", "50")(s)
}

func TestNearZeroForce(t *testing.T) {
	external := func(values ...string) func(*shoulder.Session) {
		return one(right, shoulder.External, shoulder.AtSide, values...)
	}
	tests := []struct {
		name   string
		visit  shoulder.Session
		want   bool
		source string
	}{
		{"0 N", visit(0, external("0")), true, "protocol: under 10 N"},
		{"just under the limit", visit(0, external("9.99")), true, "protocol: under 10 N"},
		{"on the limit", visit(0, external("10")), false, "protocol: under 10 N"},
		{"a child", visit(0, external("10", "12", "14")), false, "by hand: mean 12 N"},
		{"0 N.m", visit(0, torque("0")), true, "protocol: under 2.5 N.m"},
		{"torque under the limit", visit(0, torque("2.4")), true, "protocol: under 2.5 N.m"},
		{"torque on the limit", visit(0, torque("2.5")), false, "protocol: under 2.5 N.m"},
		{"comparison side", visit(0, one(left, shoulder.External, shoulder.AtSide, "0")), false, "by definition: the involved side"},
		{"grade 2", visit(0, grade(right, shoulder.Grade2)), true, "protocol: 2 or less"},
		{"grade 0", visit(0, grade(right, shoulder.Grade0)), true, "protocol: 2 or less"},
		{"grade 2+", visit(0, grade(right, shoulder.Grade2Plus)), false, "protocol: 2 or less"},
		{"grade 2 of the comparison side", visit(0, grade(left, shoulder.Grade2)), false, "by definition"},
		{"grade 2 beside 60 N", visit(0, grade(right, shoulder.Grade2), external("60")), true, "protocol: 2 or less, whatever the force of the same day"},
		{"grade 2+ beside 60 N", visit(0, grade(right, shoulder.Grade2Plus), external("60")), false, "protocol: 2 or less"},
		{"grade 3 beside 60 N", visit(0, grade(right, shoulder.Grade3), external("60")), false, "protocol: 2 or less"},
		{"grade 2 beside another position's 60 N", visit(0, grade(right, shoulder.Grade2), one(right, shoulder.External, shoulder.Flexion90, "60")), true, "by definition: it says nothing about this one"},
		{"grade 5 beside 0 N", visit(0, grade(right, shoulder.Grade5), external("0")), true, "by definition: a dynamometer goes first"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			flags := found(episode(tt.visit))
			if got := codes(flags) == "near-zero-force"; got != tt.want || !tt.want && len(flags) > 0 {
				t.Errorf("%q, want near-zero force: %v (%s)", codes(flags), tt.want, tt.source)
			}
		})
	}
}

func TestNothingLeftIsALossToo(t *testing.T) {
	if got := codes(found(course("80/100 0/100"))); got != "sudden-strength-loss near-zero-force" {
		t.Errorf("%q, want both: 80 N is beyond error, 0 N is under 10 N", got)
	}
}

func TestALaterStrengthEndsNearZero(t *testing.T) {
	weak := visit(0, grade(right, shoulder.Grade2))
	if flags := found(episode(weak, visit(7, one(right, shoulder.External, shoulder.AtSide, "60")))); len(flags) != 0 {
		t.Errorf("%q, want none after 60 N", codes(flags))
	}
	if flags := found(episode(weak, visit(7, grade(right, shoulder.Grade4)))); len(flags) != 0 {
		t.Errorf("%q, want none after grade 4", codes(flags))
	}
}

func TestResistedTestBeforeClearance(t *testing.T) {
	repaired := func(days int) shoulder.Repair { return shoulder.Repair{Side: right, Date: at(-days, 0)} }
	cleared := func(n int) []shoulder.Statement { return []shoulder.Statement{{When: at(n, 0), Cleared: true}} }
	tests := []struct {
		name       string
		repairs    []shoulder.Repair
		clearances []shoulder.Statement
		visit      shoulder.Session
		want       bool
		source     string
	}{
		{"week 8", []shoulder.Repair{repaired(56)}, nil, visit(0, both("60/100")), true, "protocol: from week 12"},
		{"a day before week 12", []shoulder.Repair{repaired(83)}, nil, visit(0, both("60/100")), true, "by hand: 12 x 7 = 84"},
		{"week 12", []shoulder.Repair{repaired(84)}, nil, visit(0, both("60/100")), false, "protocol: from week 12"},
		{"cleared before", []shoulder.Repair{repaired(56)}, cleared(-1), visit(0, both("60/100")), false, "by definition"},
		{"cleared that day", []shoulder.Repair{repaired(56)}, cleared(0), visit(0, both("60/100")), false, "by definition"},
		{"cleared after", []shoulder.Repair{repaired(56)}, cleared(1), visit(0, both("60/100")), true, "by definition: the test came first"},
		{"grade 4-", []shoulder.Repair{repaired(56)}, nil, visit(0, grade(right, shoulder.Grade4Minus)), true, "by definition: movement against resistance"},
		{"grade 3", []shoulder.Repair{repaired(56)}, nil, visit(0, grade(right, shoulder.Grade3)), false, "by definition: no resistance"},
		{"comparison side only", []shoulder.Repair{repaired(56)}, nil, visit(0, six(left, "100")), false, "by definition"},
		{"before the repair", []shoulder.Repair{repaired(-1)}, nil, visit(0, both("60/100")), false, "by definition"},
		{"no date", []shoulder.Repair{{Side: right}}, nil, visit(0, both("60/100")), false, "by definition: no time to hold it against"},
		{"other side's repair", []shoulder.Repair{{Side: left, Date: at(-56, 0)}}, nil, visit(0, both("60/100")), false, "by definition"},
		{"no repair", nil, nil, visit(0, both("60/100")), false, "by definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := episode(tt.visit)
			e.Repairs, e.Clearances = tt.repairs, tt.clearances
			flags := find(e, protocol.Default(), day(7))
			if got := codes(flags) == "resisted-test-before-clearance"; got != tt.want || !tt.want && len(flags) > 0 {
				t.Errorf("%q, want a test too soon: %v (%s)", codes(flags), tt.want, tt.source)
			}
		})
	}
}
