package redflag

import (
	"testing"
	"time"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// The flag is about pain measured at nine on day 14; the question is asked on day 20.
func TestExamined(t *testing.T) {
	type statements = []shoulder.Statement
	cleared := func(when time.Time) shoulder.Statement { return shoulder.Statement{When: when, Cleared: true} }
	refused := func(when time.Time) shoulder.Statement { return shoulder.Statement{When: when} }
	onDay := func(n int, cleared bool) shoulder.Statement {
		return shoulder.Statement{When: at(n, 0), IsDay: true, Cleared: cleared}
	}
	of := func(side shoulder.Side, x shoulder.Statement) shoulder.Statement {
		x.Side = side
		return x
	}
	tests := []struct {
		name  string
		given statements
		holds bool
	}{
		{"nobody has examined", nil, true},
		{"same day, by date only", statements{onDay(14, true)}, false},
		{"same day, earlier", statements{cleared(at(14, 8))}, true},
		{"same time", statements{cleared(at(14, 9))}, false},
		{"same day, later", statements{cleared(at(14, 10))}, false},
		{"the day after", statements{onDay(15, true)}, false},
		{"the day before", statements{onDay(13, true)}, true},
		{"the day before, at night", statements{cleared(at(13, 23))}, true},
		{"after the question", statements{onDay(21, true)}, true},
		{"of the involved side", statements{of(right, onDay(15, true))}, false},
		{"of another side", statements{of(left, onDay(15, true))}, true},
		{"another side's refusal", statements{onDay(15, true), of(left, onDay(16, false))}, false},
		{"refused", statements{onDay(15, false)}, true},
		{"cleared, refused later", statements{onDay(15, true), onDay(16, false)}, true},
		{"refused, cleared later", statements{onDay(15, false), onDay(16, true)}, false},
		{"refused some time on a day, cleared at ten", statements{onDay(15, false), cleared(at(15, 10))}, true},
		{"refused without a date", statements{refused(time.Time{}), onDay(16, true)}, true},
		{"cleared, and cleared before", statements{onDay(13, true), onDay(15, true)}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := episode(visit(14, pain(rest, "6")))
			e.Examinations = tt.given
			flags := find(e, protocol.Default(), day(20))
			if len(flags) != 1 || flags[0].Holds() != tt.holds || Hold(flags) != tt.holds {
				t.Errorf("%+v, want one flag that holds: %v (by definition)", flags, tt.holds)
			}
		})
	}
}

// Nothing but an examination after the measurement takes a flag back: a new one of
// the same kind holds again.
func TestANewFlagHoldsAgain(t *testing.T) {
	e := episode(visit(0, pain(rest, "6")), visit(14, pain(rest, "7")))
	e.Examinations = []shoulder.Statement{{When: at(1, 0), IsDay: true, Cleared: true}}
	if flags := found(e); len(flags) != 1 || !flags[0].Holds() {
		t.Errorf("%+v, want a flag that holds: it was measured after the examination", flags)
	}
}

func TestFlagsThatHoldComeFirst(t *testing.T) {
	e := episode(visit(0, one(right, shoulder.External, shoulder.AtSide, "0")), visit(14, pain(rest, "6")))
	e.Examinations = []shoulder.Statement{{When: at(1, 0), IsDay: true, Cleared: true}}
	flags := found(e)
	if codes(flags) != "high-rest-pain near-zero-force" || !flags[0].Holds() || flags[1].Holds() {
		t.Errorf("%q, want the pain, which holds, before the force, which was examined", codes(flags))
	}
}

func TestNothingMeasuredNoFlag(t *testing.T) {
	for name, e := range map[string]*shoulder.Episode{"no session": episode(), "empty session": episode(visit(0))} {
		if flags := find(e, protocol.Default(), day(0)); len(flags) != 0 {
			t.Errorf("%s: %q, want none", name, codes(flags))
		}
	}
}
