package healing

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// repaired is the day of the repair.
var repaired = time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC)

func after(days int) time.Time { return repaired.AddDate(0, 0, days) }

// hour is a time on day 200.
func hour(h int) time.Time { return after(200).Add(time.Duration(h) * time.Hour) }

// change adds to an episode of a right shoulder.
type change func(*shoulder.Episode)

func repair(days int) change {
	return func(e *shoulder.Episode) {
		e.Repairs = append(e.Repairs, shoulder.Repair{Source: 1, Side: shoulder.Right, Date: after(days)})
	}
}

func undated(e *shoulder.Episode) {
	e.Repairs = append(e.Repairs, shoulder.Repair{Source: 1, Side: shoulder.Right})
}

func otherRepair(e *shoulder.Episode) {
	e.Repairs = append(e.Repairs, shoulder.Repair{Source: 1, Side: shoulder.Left, Date: repaired})
}

func tear(side shoulder.Side, centimetres string) change {
	return func(e *shoulder.Episode) {
		e.Tears = append(e.Tears, shoulder.Tear{Source: 2, Side: side, Centimetres: exact.MustParse(centimetres)})
	}
}

func clearance(days int, cleared bool) change {
	return func(e *shoulder.Episode) {
		e.Clearances = append(e.Clearances, shoulder.Statement{Source: 3, When: after(days), IsDay: true, Cleared: cleared})
	}
}

func neverCleared(e *shoulder.Episode) {
	e.Clearances = append(e.Clearances, shoulder.Statement{Source: 3})
}

func permit(days int, phase shoulder.LoadPhase) change {
	return func(e *shoulder.Episode) {
		e.Permits = append(e.Permits, shoulder.Permit{Source: 4, When: after(days), Phase: phase})
	}
}

func examined(when time.Time, isDay, cleared bool) change {
	return func(e *shoulder.Episode) {
		e.Examinations = append(e.Examinations, shoulder.Statement{Source: 5, When: when, IsDay: isDay, Cleared: cleared})
	}
}

func of(changes ...change) *shoulder.Episode {
	e := &shoulder.Episode{Involved: shoulder.Right}
	for _, c := range changes {
		c(e)
	}
	return e
}

const (
	none        = shoulder.LoadNone
	submaximal  = shoulder.LoadSubmaximalAtSide
	progressive = shoulder.LoadProgressiveAtSide
	elevated    = shoulder.LoadElevated
	functional  = shoulder.LoadFunctional
	sport       = shoulder.LoadSport
)

// The weeks are the protocol's: 12, 14, 16, 20, 26, and 16, 18, 20, 26, 52 after a
// massive tear.
func TestPhaseByTime(t *testing.T) {
	tests := []struct {
		name string
		days int
		cm   string
		want shoulder.LoadPhase
		next int // day of the next phase, 0 for none
	}{
		{"day of the repair", 0, "2", none, 84},
		{"week 8", 56, "2", none, 84},
		{"a day before week 12", 83, "2", none, 84},
		{"week 12", 84, "2", submaximal, 98},
		{"week 14", 98, "2", progressive, 112},
		{"week 16", 112, "2", elevated, 140},
		{"a day before week 20", 139, "2", elevated, 140},
		{"week 20", 140, "2", functional, 182},
		{"week 26", 182, "2", sport, 0},
		{"massive, week 12", 84, "5", none, 112},
		{"massive, week 16", 112, "5", submaximal, 126},
		{"massive, week 18", 126, "5", progressive, 140},
		{"massive, week 20", 140, "5", elevated, 182},
		{"massive, week 26", 182, "5", functional, 364},
		{"massive, week 52", 364, "5", sport, 0},
		{"just under massive, week 12", 84, "4.9", submaximal, 98},
		{"ten years later", 3650, "5", sport, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := At(of(repair(0), tear(shoulder.Right, tt.cm)), protocol.Default(), after(tt.days))
			if s.Phase != tt.want || s.Basis != ByTime || s.Days != tt.days {
				t.Errorf("day %d: %v by %v, want %v by time (protocol)", tt.days, s.Phase, s.Basis, tt.want)
			}
			want := time.Time{}
			if tt.next > 0 {
				want = after(tt.next)
			}
			if !s.NextDate.Equal(want) {
				t.Errorf("next on %v, want %v (by hand: weeks times seven)", s.NextDate, want)
			}
		})
	}
}

func TestStatements(t *testing.T) {
	week := func(n int) time.Time { return after(7 * n) }
	tests := []struct {
		name  string
		of    *shoulder.Episode
		when  time.Time
		phase shoulder.LoadPhase
		basis Basis
		next  time.Time
	}{
		{"no repair", of(), week(1), sport, NoRepair, time.Time{}},
		{"another side's repair", of(otherRepair), week(1), sport, NoRepair, time.Time{}},
		{"a repair to come", of(repair(14)), week(1), sport, NoRepair, time.Time{}},
		{"another side's massive tear", of(repair(0), tear(shoulder.Left, "6")), week(12), submaximal, ByTime, week(14)},
		{"a second repair counts anew", of(repair(0), repair(140)), week(21), none, ByTime, week(32)},
		{"no date", of(undated), week(50), none, Unknown, time.Time{}},
		{"no date, cleared", of(undated, clearance(56, true)), week(9), submaximal, Cleared, time.Time{}},
		{"no date, sport permitted", of(undated, permit(56, sport)), week(9), submaximal, Permitted, time.Time{}},
		{"no date, nothing permitted", of(undated, permit(56, none)), week(9), none, Permitted, time.Time{}},
		{"no date beside an older one, sport permitted", of(repair(0), undated, permit(350, sport)), week(50), submaximal, Permitted, time.Time{}},
		{"no date beside an older one", of(repair(0), undated), week(50), none, Unknown, time.Time{}},

		{"cleared early", of(repair(0), clearance(56, true)), week(8), submaximal, Cleared, week(14)},
		{"cleared early never means function", of(repair(0), clearance(56, true)), week(13), submaximal, ByTime, week(14)},
		{"cleared the day after", of(repair(0), clearance(57, true)), week(8), none, ByTime, week(12)},
		{"cleared before the repair", of(repair(7), clearance(0, true)), week(8), none, ByTime, week(13)},
		{"cleared after the usual time", of(repair(0), clearance(150, true)), week(22), functional, ByTime, week(26)},
		{"not cleared after the usual time", of(repair(0), clearance(150, false)), week(30), none, Refused, time.Time{}},
		{"not cleared, and cleared later", of(repair(0), clearance(150, false), clearance(160, true)), week(30), sport, ByTime, time.Time{}},
		{"of one day without times the refused clearance", of(repair(0), clearance(150, false), clearance(150, true)), week(30), none, Refused, time.Time{}},
		{"not cleared on an unknown day, cleared since", of(repair(0), neverCleared, clearance(160, true)), week(30), none, Refused, time.Time{}},
		{"not cleared without a repair", of(clearance(0, false)), week(1), none, Refused, time.Time{}},

		{"permitted early", of(repair(0), permit(56, progressive)), week(8), progressive, Permitted, time.Time{}},
		{"held longer", of(repair(0), permit(150, none)), week(30), none, Permitted, time.Time{}},
		{"permitted eight weeks early", of(repair(0), permit(84, functional)), week(13), functional, Permitted, time.Time{}},
		{"permitted more than eight weeks early", of(repair(0), permit(83, functional)), week(12), submaximal, ByTime, week(14)},
		{"sport in week 5", of(repair(0), permit(35, sport)), week(5), none, ByTime, week(12)},
		{"sport in week 5 after a careful permit", of(repair(0), permit(28, none), permit(35, sport)), week(30), none, Permitted, time.Time{}},
		{"permitted before the repair", of(repair(7), permit(0, sport)), week(8), none, ByTime, week(13)},
		{"the later permit", of(repair(0), permit(56, none), permit(57, elevated)), week(9), elevated, Permitted, time.Time{}},
		{"of one day the more careful one", of(repair(0), permit(56, submaximal), permit(56, elevated)), week(9), submaximal, Permitted, time.Time{}},
		{"in either order", of(repair(0), permit(56, elevated), permit(56, submaximal)), week(9), submaximal, Permitted, time.Time{}},
		{"permitted and not cleared", of(repair(0), permit(56, sport), clearance(50, false)), week(9), none, Refused, time.Time{}},
		{"permitted beside a clearance", of(repair(0), clearance(50, true), permit(56, none)), week(9), none, Permitted, time.Time{}},

		{"examined and refused", of(repair(0), examined(week(29), true, false)), week(30), none, Refused, time.Time{}},
		{"examined and cleared gives nothing by itself", of(repair(0), examined(week(7), true, true)), week(8), none, ByTime, week(12)},
		{"refused, cleared the next day", of(repair(0), examined(after(200), true, false), examined(after(201), true, true)), week(30), sport, ByTime, time.Time{}},
		{"refused, cleared later that day", of(examined(hour(9), false, false), examined(hour(10), false, true)), week(30), sport, NoRepair, time.Time{}},
		{"cleared, refused later that day", of(examined(hour(9), false, true), examined(hour(10), false, false)), week(30), none, Refused, time.Time{}},
		{"of one day without times the refusal", of(examined(after(200), true, false), examined(after(200), true, true)), week(30), none, Refused, time.Time{}},
		{"refused some time on a day, cleared at ten", of(examined(after(200), true, false), examined(hour(10), false, true)), week(30), none, Refused, time.Time{}},
		{"refused without a date", of(examined(time.Time{}, false, false), examined(week(29), true, true)), week(30), none, Refused, time.Time{}},
		{"refused tomorrow", of(examined(week(31), true, false)), week(30), sport, NoRepair, time.Time{}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := At(tt.of, protocol.Default(), tt.when)
			if s.Phase != tt.phase || s.Basis != tt.basis || !s.NextDate.Equal(tt.next) {
				t.Errorf("%v by %d, next on %v, want %v by %d, next on %v (by definition)", s.Phase, s.Basis, s.NextDate, tt.phase, tt.basis, tt.next)
			}
		})
	}
}

func TestStatementsAboutTheOtherSideDoNotCount(t *testing.T) {
	e := of(repair(0), clearance(56, true), permit(56, sport), examined(after(56), true, false))
	e.Clearances[0].Side, e.Permits[0].Side, e.Examinations[0].Side = shoulder.Left, shoulder.Left, shoulder.Left
	if s := At(e, protocol.Default(), after(63)); s.Phase != none || s.Basis != ByTime {
		t.Errorf("%v by %d, want none by time", s.Phase, s.Basis)
	}
}

// What a phase rests on can be traced.
func TestSources(t *testing.T) {
	s := At(of(repair(0), tear(shoulder.Right, "6"), clearance(56, true)), protocol.Default(), after(63))
	if !s.Massive || len(s.Sources) != 3 || !s.Stated.Equal(after(56)) {
		t.Errorf("sources %v, massive %v, stated on %v, want repair, tear and clearance of day 56", s.Sources, s.Massive, s.Stated)
	}
}

func TestLaterIsNeverLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cm := rapid.SampledFrom([]string{"1", "5", "9"}).Draw(t, "cm")
		e := of(repair(0), tear(shoulder.Right, cm))
		if rapid.Bool().Draw(t, "cleared") {
			clearance(rapid.IntRange(0, 400).Draw(t, "cleared on"), true)(e)
		}
		a, b := rapid.IntRange(0, 500).Draw(t, "day"), rapid.IntRange(0, 500).Draw(t, "days later")
		p := protocol.Default()
		if now, later := At(e, p, after(a)), At(e, p, after(a+b)); later.Phase < now.Phase {
			t.Fatalf("day %d permits %v, %d days later only %v", a, now.Phase, b, later.Phase)
		}
	})
}

func TestARefusalAlwaysTakesAllLoadAway(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.IntRange(0, 500).Draw(t, "day")
		e := of(repair(0), permit(rapid.IntRange(0, 500).Draw(t, "permitted on"), sport), clearance(0, true), examined(after(day), true, false))
		later := day + rapid.IntRange(0, 500).Draw(t, "days later")
		if s := At(e, protocol.Default(), after(later)); s.Phase != none {
			t.Fatalf("%v, want none: refused on day %d", s.Phase, day)
		}
	})
}
