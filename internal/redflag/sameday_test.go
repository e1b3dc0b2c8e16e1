package redflag

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
)

// later is a visit moved by some hours.
func later(s shoulder.Session, hours int) shoulder.Session {
	s.When = s.When.Add(time.Duration(hours) * time.Hour)
	return s
}

// What a session raises, a better session of the same day does not end; one of the next
// day does.
func TestAnotherTestOfTheSameDayEndsNoFlag(t *testing.T) {
	type part = func(*shoulder.Session)
	lift := func(degrees string) part { return reach(shoulder.Flexion, right, true, degrees) }
	zero := one(right, shoulder.External, shoulder.AtSide, "0", "0", "0")
	whole := one(right, shoulder.External, shoulder.AtSide, "100", "100", "100")
	belted := func(s *shoulder.Session) {
		whole(s)
		for i := range s.Trials {
			s.Trials[i].Instrument = shoulder.BeltStabilised
		}
	}
	nothing := func(*shoulder.Session) {}
	tests := []struct {
		name              string
		before, bad, good part
		want              string
	}{
		{"strength of all tests", both("100/100"), both("50/100"), both("100/100"), "sudden-strength-loss"},
		{"no force", nothing, zero, whole, "near-zero-force"},
		{"no force, then with a belt", nothing, zero, belted, "near-zero-force"},
		{"grade 2", nothing, grade(right, shoulder.Grade2), grade(right, shoulder.Grade5), "near-zero-force"},
		{"grade 2, then a force", nothing, grade(right, shoulder.Grade2), whole, "near-zero-force"},
		{"grade from 5 to 3", grade(right, shoulder.Grade5), grade(right, shoulder.Grade3), grade(right, shoulder.Grade5), "sudden-strength-loss"},
		{"range", lift("170"), lift("100"), lift("170"), "range-loss"},
		{"an arm that does not lift", nothing, func(s *shoulder.Session) { lift("80")(s); passive("170")(s) }, lift("175"), "cannot-lift"},
		{"worst pain", pain(worst, "7"), pain(worst, "9"), pain(worst, "1"), "high-rest-pain"},
		{"pain at rest", nothing, pain(rest, "6"), pain(rest, "0"), "high-rest-pain"},
		{"pain in the test", pain(test, "1"), pain(test, "6"), pain(test, "1"), "pain-surge"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			after := func(good shoulder.Session) string {
				return codes(found(episode(visit(0, tt.before), visit(14, tt.bad), good)))
			}
			if got := after(later(visit(14, tt.good), 2)); got != tt.want {
				t.Errorf("two hours later %q, want %q (by definition: a later day)", got, tt.want)
			}
			if got := after(visit(21, tt.good)); got != "" {
				t.Errorf("a week later %q, want none (by definition: recovered)", got)
			}
		})
	}
}

// What ends on a later day stays ended, although the bad day itself had a good test too.
func TestAGoodTestOfALaterDayStillEnds(t *testing.T) {
	e := episode(visit(0, both("100/100")), visit(14, both("50/100")), later(visit(14, both("100/100")), 2), visit(28, both("98/100")))
	if got := codes(found(e)); got != "" {
		t.Errorf("%q, want none (by definition: regained on a later day)", got)
	}
}

// Whatever is measured later on the day of a flag, the flag stays. Flags of earlier days
// may end by it.
func TestASessionOfTheSameDayRemovesNoFlag(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEpisode(t)
		last := &e.Sessions[len(e.Sessions)-1]
		if rapid.Bool().Draw(t, "graded") {
			last.Grades = append(last.Grades, shoulder.Grade{Motion: shoulder.External, Position: shoulder.AtSide, Side: right, Value: shoulder.Grade1})
		}
		before := slices.DeleteFunc(found(e), func(f Flag) bool { return laterDay(f.Now.When, last.When) })
		again := visit(0, passive("175"), active("175"), pain(rest, "0"), pain(test, "0"), pain(worst, "0"), grade(right, shoulder.Grade5))
		again.When = last.When.Add(time.Hour)
		for _, x := range last.Trials {
			x.Value = exact.Int(100)
			again.Trials = append(again.Trials, x)
		}
		e.Sessions = append(e.Sessions, again)
		if code, gone := lost(before, found(e)); gone {
			t.Fatalf("%v is gone after a better test of the same day", code)
		}
	})
}
