package healing

import (
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// otherSide puts a permit on the side that is not involved.
func otherSide(c change) change {
	return func(e *shoulder.Episode) {
		permits := len(e.Permits)
		c(e)
		for i := range e.Permits[permits:] {
			e.Permits[permits+i].Side = shoulder.Left
		}
	}
}

func unreadOf(days int, phase shoulder.LoadPhase) change {
	return func(e *shoulder.Episode) {
		e.Unread = append(e.Unread, shoulder.Permit{Source: 6, When: after(days), Phase: phase})
	}
}

// What stands beside, before or on the very day of what decides. The weeks are those of TestPhaseByTime.
func TestWhichStatementDecides(t *testing.T) {
	tests := []struct {
		name  string
		of    *shoulder.Episode
		day   int
		phase shoulder.LoadPhase
		basis Basis
		why   string
	}{
		{"a repair listed after one of the other side", of(otherRepair, repair(0)), 56, none, ByTime, "each side's repair counts for itself"},
		{"a repair listed after one that is still to come", of(repair(300), repair(0)), 56, none, ByTime, "what is to come says nothing of now"},
		{"cleared on the day of the repair", of(repair(0), clearance(0, true)), 1, submaximal, Cleared, "a day covers what was done on it"},

		{"permitted for the other side", of(repair(0), otherSide(permit(170, none))), 200, sport, ByTime, "each side's permit counts for itself"},
		{"permitted for the other side more", of(repair(0), otherSide(permit(70, progressive))), 75, none, ByTime, "each side's permit counts for itself"},
		{"permitted for the other side first", of(repair(0), otherSide(permit(170, none)), permit(171, elevated)), 200, elevated, Permitted, "each side's permit counts for itself"},
		{"permitted before the repair first", of(repair(7), permit(0, none), permit(171, elevated)), 200, elevated, Permitted, "what was said before a repair is not about it"},
		{"less without a repair", of(permit(0, submaximal)), 200, submaximal, Permitted, "the surgeon's statement goes before the weeks"},

		{"unread on the day itself", of(unreadOf(200, submaximal)), 200, submaximal, Unread, "it has been made"},
		{"unread, and replaced on the day itself", of(unreadOf(190, submaximal), permit(200, sport)), 200, sport, Permitted, "a later day's statement replaces it"},
		{"unread on the day of the repair", of(repair(0), unreadOf(0, submaximal)), 200, submaximal, Unread, "a day covers what was done on it"},
		{"the more careful of two unread", of(unreadOf(180, submaximal), unreadOf(181, none)), 200, none, Unread, "either may have been meant"},
		{"the more careful of two unread, in the other order", of(unreadOf(180, none), unreadOf(181, submaximal)), 200, none, Unread, "either may have been meant"},
		{"unread, and replaced for the other side", of(unreadOf(180, submaximal), otherSide(permit(190, sport))), 200, submaximal, Unread, "each side's permit counts for itself"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if s := At(tt.of, protocol.Default(), after(tt.day)); s.Phase != tt.phase || s.Basis != tt.basis {
				t.Errorf("%v by %d, want %v by %d (by definition: %s)", s.Phase, s.Basis, tt.phase, tt.basis, tt.why)
			}
		})
	}
}

// Of statements that say the same the first stands for both.
func TestTheFirstOfTwoUnreadStatementsIsNamed(t *testing.T) {
	e := of(unreadOf(180, submaximal), unreadOf(181, submaximal))
	e.Unread[1].Source = 7
	if s := At(e, protocol.Default(), after(200)); len(s.Sources) != 1 || s.Sources[0] != 6 || !s.Stated.Equal(after(180)) {
		t.Errorf("sources %v of %v, want the first statement, of day 180", s.Sources, s.Stated)
	}
}

// A permit that does not count whole is named, unless a later one took its place.
func TestPermitsThatDoNotCountWhole(t *testing.T) {
	tests := []struct {
		name             string
		of               *shoulder.Episode
		tooEarly, capped bool
		why              string
	}{
		{"sport in week 5", of(repair(0), permit(35, sport)), true, false, "protocol: 8 weeks ahead at most, of 26"},
		{"sport in week 5, elevated work in week 20", of(repair(0), permit(35, sport), permit(140, elevated)), false, false, "by definition: a later statement replaced it"},
		{"sport in week 5, nothing on the same day", of(repair(0), permit(35, sport), permit(35, none)), true, false, "by definition: it contradicts the other of its day"},
		{"elevated work, and sport after it", of(repair(0), permit(110, elevated), permit(120, sport)), true, false, "protocol: day 120 is 62 days before week 26; by definition: no later statement replaced it"},
		{"no date, sport", of(undated, permit(100, sport)), false, true, "by definition: nobody can tell how early it is"},
		{"no date, sub-maximal work", of(undated, permit(100, submaximal)), false, false, "by definition: it counts whole"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := At(tt.of, protocol.Default(), after(200))
			if (s.TooEarly != nil) != tt.tooEarly || (s.Capped != nil) != tt.capped {
				t.Errorf("too early %v, capped %v; want %v and %v (%s)", s.TooEarly, s.Capped, tt.tooEarly, tt.capped, tt.why)
			}
		})
	}
}

// A clinic may state weeks with a fraction: the next phase comes on the first whole day after them.
func TestFractionsOfWeeksRoundUp(t *testing.T) {
	p, err := protocol.Load([]byte(`{"id":"clinic","version":"1","tissue":{"resistedAfter":{"value":12.5,"source":"invented"}}}`))
	if err != nil {
		t.Fatal(err)
	}
	for day, want := range map[int]shoulder.LoadPhase{87: none, 88: submaximal} {
		if s := At(of(repair(0)), p, after(day)); s.Phase != want {
			t.Errorf("day %d: %v, want %v (by hand: 12.5 weeks are 87.5 days)", day, s.Phase, want)
		}
	}
	if s := At(of(repair(0)), p, after(1)); !s.NextDate.Equal(after(88)) {
		t.Errorf("next on %v, want %v (by hand: 87.5 days, rounded up)", s.NextDate, after(88))
	}
}
