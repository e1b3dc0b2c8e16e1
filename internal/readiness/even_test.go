package readiness

import (
	"testing"
	"time"

	"evenreach.example/internal/shoulder"
)

// against is a visit with strengths in newtons of both sides.
func against(day int, right, left string) visit {
	v := complete(day, right)
	v.LeftER, v.LeftIR = all(left), all(left)
	return v
}

// Evenness counts only while it is there. The rules and their days are ours.
func TestWhenEvennessCounts(t *testing.T) {
	broken := func(v visit) visit { v.Break = true; return v }
	belted := func(v visit) visit { v.Belt = true; return v }
	tests := []struct {
		name      string
		visits    []visit
		even      Verdict
		confirmed Verdict
		wasEven   string // the index of the session that confirmed, empty for none
		source    string
	}{
		{"one session alone, however far above", []visit{complete(0, "114")}, Met, NotMet, "", "a single session never confirms"},
		{"two sessions of one day", []visit{complete(0, "95"), complete(0, "95")}, Met, NotMet, "", "at least 7 days"},
		{"3 days apart", []visit{complete(0, "95"), complete(3, "95")}, Met, NotMet, "", "at least 7 days"},
		{"6 days apart", []visit{complete(0, "95"), complete(6, "95")}, Met, NotMet, "", "at least 7 days"},
		{"7 days apart", []visit{complete(0, "95"), complete(7, "95")}, Met, Met, "", "at least 7 days"},
		{"42 days apart", []visit{complete(0, "95"), complete(42, "95")}, Met, Met, "", "at most 42 days"},
		{"43 days apart", []visit{complete(0, "95"), complete(43, "95")}, Met, NotMet, "", "at most 42 days"},
		{"3 days apart, and 8 from the first of the run", []visit{complete(0, "95"), complete(5, "95"), complete(8, "95")}, Met, Met, "", "any earlier session of the run may confirm"},
		{"make test, then break test", []visit{complete(0, "95"), broken(complete(14, "95"))}, Met, NotMet, "", "not tested alike"},
		{"break test twice", []visit{broken(complete(0, "95")), broken(complete(14, "95"))}, Met, Met, "", "tested alike"},
		{"by hand, then with a belt", []visit{complete(0, "95"), belted(complete(14, "95"))}, Met, NotMet, "", "not tested alike"},
		{"90 % on the threshold twice", []visit{complete(0, "90"), complete(14, "90")}, Met, Met, "", "at least 90 %"},
		{"89.99 % after an even session", []visit{complete(0, "95"), complete(14, "89.99")}, NotMet, NotMet, "", "the threshold is exact"},
		{"confirmed, then 78 %", []visit{complete(0, "92"), complete(14, "92"), complete(28, "78")}, NotMet, NotMet, "92", "no latch: it was even"},
		{"confirmed, then 89.9 %", []visit{complete(0, "92"), complete(14, "92"), complete(28, "89.9")}, NotMet, NotMet, "92", "no latch, within error neither"},
		{"even again after a fall", []visit{complete(0, "92"), complete(14, "92"), complete(28, "78"), complete(42, "92")}, Met, Met, "", "an uneven session between the two is for the model to weigh"},
		{
			"even against a comparison side below what it had",
			[]visit{against(0, "93", "100"), against(14, "86.5", "95"), against(28, "86.5", "95")},
			Met, NotMet, "", "86.5 of the mean of 100, 95 and 95 is 89.5 %",
		},
		{"a leap to 135 %", []visit{complete(0, "102"), complete(14, "102"), complete(28, "135")}, Met, NotMet, "", "over 130 % (protocol) may be exchanged sides or a slip"},
		{"130 % after 102 %", []visit{complete(0, "102"), complete(14, "102"), complete(28, "130")}, Met, Met, "", "not over 130 %"},
		{"135 %, then 102 %", []visit{complete(0, "102"), complete(14, "135"), complete(28, "102")}, Met, Met, "", "day 0 confirms day 28"},
		{"even again long after a fall", []visit{complete(0, "92"), complete(14, "92"), complete(28, "78"), complete(63, "92")}, Met, NotMet, "", "at most 42 days"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := judged(episode(tt.visits...))
			for _, p := range r.Motions[0].Positions {
				if p.Even.Verdict != tt.even || p.Confirmed.Verdict != tt.confirmed {
					t.Errorf("%v: even %v, confirmed %v, want %v, %v (%s)", p.Position, p.Even.Verdict, p.Confirmed.Verdict, tt.even, tt.confirmed, tt.source)
				}
				was := ""
				if p.WasEven != nil {
					was = p.WasEven.Index.String()
				}
				if was != tt.wasEven {
					t.Errorf("%v: was even with %q, want %q (%s)", p.Position, was, tt.wasEven, tt.source)
				}
			}
			if r.Overall == ReadyForFunctional && tt.confirmed != Met {
				t.Errorf("overall = %v, want ready only when confirmed (%s)", r.Overall, tt.source)
			}
		})
	}
}

// Dates are local: a week by the calendar may be five days.
func TestAWeekBetweenConfirmingSessionsHasPassed(t *testing.T) {
	west, east := time.FixedZone("", -11*3600), time.FixedZone("", 13*3600)
	tests := []struct {
		name      string
		one, two  time.Time
		confirmed Verdict
	}{
		{"five days in zones far apart", time.Date(2026, 6, 1, 23, 30, 0, 0, west), time.Date(2026, 6, 8, 0, 30, 0, 0, east), NotMet},
		{"six days and a half", time.Date(2026, 6, 1, 20, 0, 0, 0, time.UTC), time.Date(2026, 6, 8, 8, 0, 0, 0, time.UTC), Met},
		{"a week, an hour less by summer time", time.Date(2026, 3, 27, 9, 0, 0, 0, time.FixedZone("", 3600)), time.Date(2026, 4, 3, 9, 0, 0, 0, time.FixedZone("", 7200)), Met},
	}
	for _, tt := range tests {
		e := episode(complete(0, "95"), complete(7, "95"))
		e.Sessions[0].When, e.Sessions[1].When = tt.one, tt.two
		for _, p := range judged(e).Motions[0].Positions {
			if p.Confirmed.Verdict != tt.confirmed {
				t.Errorf("%s, %v: confirmed %v, want %v (source: ours)", tt.name, p.Position, p.Confirmed.Verdict, tt.confirmed)
			}
		}
	}
}

// The comparison side loses a quarter of its strength while the involved side stays
// at three quarters of what that was: the sides get even, and nobody got stronger.
func TestAWeakerComparisonSideMakesNobodyReady(t *testing.T) {
	courses := map[string][]visit{
		"at once": {
			against(0, "75", "100"), against(14, "75", "75"), against(28, "75", "75"), against(42, "75", "75"),
		},
		"gradually": {
			against(0, "75", "100"), against(14, "75", "96"), against(28, "75", "92"), against(42, "75", "88"),
			against(56, "75", "84"), against(70, "75", "80"), against(84, "75", "77"), against(98, "75", "75"), against(112, "75", "75"),
		},
	}
	for name, visits := range courses {
		t.Run(name, func(t *testing.T) {
			for n := range visits {
				r := judged(episode(visits[:n+1]...))
				if r.Overall == ReadyForFunctional || r.Motions[0].Step == StepFunctional || r.Motions[1].Step == StepFunctional {
					t.Errorf("ready at visit %d, with %s N against %s N", n+1, visits[n].ER[0], visits[n].LeftER[0])
				}
			}
			last := judged(episode(visits...))
			if at := last.Motions[0].Positions[0]; at.Confirmed.Verdict != NotMet || at.Confirmed.Basis != ComparisonWeaker {
				t.Errorf("at the end confirmed %v on %v, want not confirmed because the comparison side is weaker", at.Confirmed.Verdict, at.Confirmed.Basis)
			}
			if likely := last.Function.AllEven; last.Motions[0].Positions[0].Even.Verdict != Met || likely.Verdict != NotMet || likely.Value.Float64() > 20 {
				t.Errorf("at the end even %v, all even %v at %v %%, want even today, and next to no probability that all six are",
					last.Motions[0].Positions[0].Even.Verdict, likely.Verdict, likely.Value)
			}
		})
	}
}

// One index over 130 % (protocol) confirms nothing before it was measured again or confirmed.
func TestOneIndexFarAboveIsMeasuredAgain(t *testing.T) {
	leapt := func(day int) visit {
		v := complete(day, "102")
		v.ER[0] = "131"
		return v
	}
	before := []visit{complete(0, "102"), complete(14, "102")}
	confirmedLeap := episode(append(before, leapt(28))...)
	for i := range confirmedLeap.Sessions[2].Trials {
		confirmedLeap.Sessions[2].Trials[i].Confirmed = true
	}
	tests := []struct {
		name string
		e    *shoulder.Episode
		want Verdict
	}{
		{"once", episode(append(before, leapt(28))...), NotMet},
		{"once, confirmed by a clinician", confirmedLeap, Met},
		{"measured again", episode(append(before, leapt(28), leapt(35))...), Met},
		{"102 % again", episode(append(before, leapt(28), complete(35, "102"))...), Met},
	}
	for _, tt := range tests {
		r := judged(tt.e)
		if got := r.Motions[0].Positions[0].Confirmed.Verdict; got != tt.want || (r.Overall == ReadyForFunctional) != (tt.want == Met) {
			t.Errorf("%s: confirmed %v, overall %v, want %v", tt.name, got, r.Overall, tt.want)
		}
	}
}
