package measure

import (
	"math"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// sessionsOf is sessions a fortnight apart with all six tests alike, each written as
// the involved over the comparison side's strength, such as 70/100.
func sessionsOf(course string) (sessions []shoulder.Session) {
	for i, visit := range strings.Fields(course) {
		involved, comparison, _ := strings.Cut(visit, "/")
		sessions = append(sessions, six(14*i, involved, comparison))
	}
	return sessions
}

// standing is the doubt about the latest session, or "none".
func standing(m *Measurements) string {
	doubts := m.StandingDoubts(right)
	if len(doubts) == 0 {
		return "none"
	}
	return doubts[0].Doubt.String()
}

// With six tests of 10 % error whose half is the day's, an index of both sides has a
// standard error of sqrt(0.02 x (0.5 + 0.5/6)) = 0.108 on the logarithm, and is
// beyond error at 2.576 times that, 0.278.
func TestDoubtsAboutSides(t *testing.T) {
	const none, swapped = "none", "sides-may-be-swapped"
	tests := []struct {
		name   string
		course string
		error  int
		want   string
		source string
	}{
		{"a very strong athlete", "120/100", 10, none, "by hand: ln 1.20 = 0.182 < 0.278"},
		{"all far above even", "134/100", 10, swapped, "by hand: ln 1.34 = 0.293 > 0.278, and each is over 115 %"},
		{"all above even with a small error", "116/100", 5, swapped, "by hand: ln 1.16 = 0.148 > 0.139"},
		{"all above even, but within the limit", "114/100", 3, none, "by definition: 114 is not over 115 %"},
		{"an old patient with a weak comparison side", "27/20", 10, none, "by hand: 5 N of 27 and of 20 are 31 % of the index; 0.300 < 2.576 x 0.238"},
		{"exchanged after 70 %", "70/100 100/70", 10, swapped, "by hand: ln 1.43 = 0.357 > 0.278"},
		{"exchanged after 70 %, less error", "70/100 100/70", 7, swapped, "by hand: 0.357 > 0.195"},
		{"exchanged after three at 80 %", "80/100 80/100 80/100 100/80", 10, swapped, "by hand: 0.446 / 0.1247 = 3.58, and 3.58^2 / 2 = 6.4 > -ln 0.005 = 5.3"},
		{"exchanged after one at 80 %", "80/100 100/80", 10, swapped, "by hand: ln 1.25 = 0.223 > ln 1.15 = 0.140, and as far below before"},
		{"exchanged twice after one at 80 %", "80/100 100/80 100/80", 10, swapped, "the same; the session in doubt is not what the next is read against"},
		{"exchanged after three at 85 %", "85/100 85/100 85/100 100/85", 10, swapped, "by hand: ln 1.176 = 0.163 > 0.140, and as far below before"},
		{"turned over after 80 %, more error", "80/100 100/80", 14, swapped, "by hand: twice 0.223 = 0.446 > 1.960 x sqrt(2) x 0.151 = 0.419"},
		{"turned over after 85 %, more error", "85/100 100/85", 14, none, "by hand: twice 0.163 = 0.325 < 0.419"},
		{"exchanged at every visit, 77 %", "100/77 100/77", 10, swapped, "by hand: ln 1.299 = 0.261 > 2.576 x 0.108 / sqrt(2) = 0.197"},
		{"a very strong athlete again", "120/100 120/100", 10, none, "by hand: ln 1.20 = 0.182 < 0.197"},
		{"a strong side by nature", "110/100 110/100 110/100", 10, none, "by definition: 110 is not over 115 %"},
		{"the comparison side lost a third", "76/100 76/65", 10, "comparison-side-declined", "by hand: ln 0.76 = -0.274 is beyond 1.96 x 0.108 of the other side"},
		{"just above after just below", "90/100 116/100", 10, none, "by hand: ln 0.90 = -0.105 is within 0.140 of even"},
		{"far above after just below", "88/100 118/91", 10, none, "by hand: ln 0.88 = -0.128 is within 0.140 of even"},
		{"exchanged after a visit of one side", "80/100 80/ 100/80", 10, swapped, "by hand: the last index is that of the first visit, as for one at 80 %"},
		{"a fast recoverer", "60/100 75/100 88/100 100/100", 10, none, "by hand: 0.309 / 0.1247 = 2.48 < 2.576"},
		{"a fast recoverer, less error", "60/100 75/100 88/100 100/100", 5, none, "by hand: even fits the mean before as badly exchanged as not"},
		{"recovered at once", "60/100 100/100", 7, none, "by hand: both are 0.511 off"},
		{"always above even", "112/100 113/100 112/100", 10, none, "by hand: ln 1.13 = 0.122 < 0.278"},
		{"lost half", "80/100 80/100 40/100", 10, none, "by hand: exchanged fits worse"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := Measure(episode(sessionsOf(tt.course)...), withError(tt.error))
			if got := standing(m); got != tt.want {
				t.Errorf("%s at %d %%: %s, want %s (%s)", tt.course, tt.error, got, tt.want, tt.source)
			}
		})
	}
}

// One index of six is beyond error at z(0.5 % / 6) = 3.144 times sqrt(0.02), 0.445.
func TestASingleIndexFarAboveEven(t *testing.T) {
	tests := []struct {
		involved string
		want     bool
		source   string
	}{
		{"157", true, "by hand: ln 1.57 = 0.451 > 0.445"},
		{"155", false, "by hand: ln 1.55 = 0.438 < 0.445"},
	}
	for _, tt := range tests {
		s := six(0, "100", "100")
		s.Trials = append(s.Trials[6:], append(thrice(right, tt.involved), thrice(left, "100")...)...)
		m := measured(s)
		if got := standing(m) == "sides-may-be-swapped"; got != tt.want {
			t.Errorf("one index of %s: doubted %v, want %v (%s)", tt.involved, got, tt.want, tt.source)
		}
		if tt.want && m.Doubts[0].Score.Value.String() != tt.involved {
			t.Errorf("shown by %v, want the test at the side", m.Doubts[0].Score.Value)
		}
	}
}

// Sides that turn over are held against the visit before, test by test, whichever side is involved. With two tests the mean has a
// standard error of sqrt(0.02 x 0.75) = 0.1225, and the strengths of a side may differ from those of the other side then by 1.960
// x 0.1225 = 0.240 in the mean.
func TestSidesThatTurnOver(t *testing.T) {
	tests := []struct {
		name   string
		course []shoulder.Session
		want   string
		source string
	}{
		{"two tests, within error in the mean", visits("80/100 80/100", "100/80 135/108"), "sides-may-be-swapped", "by hand: 0 and ln 1.35 = 0.300, in the mean 0.150 < 0.240"},
		{"two tests, beyond error in the mean", visits("80/100 80/100", "128/102 135/108"), "none", "by hand: ln 1.28 = 0.247 and 0.300, in the mean 0.273 > 0.240"},
		{"the first test is new on the involved side", visits("/100 80/100 80/100 80/100 80/100 80/100", "100/80 100/80 100/80 100/80 100/80 100/80"), "sides-may-be-swapped", "by hand: five tests are those of the other side then"},
		{"the first test is new on the comparison side", visits("80/ 80/100 80/100 80/100 80/100 80/100", "100/80 100/80 100/80 100/80 100/80 100/80"), "sides-may-be-swapped", "by hand: the same"},
	}
	for _, tt := range tests {
		for _, involved := range []shoulder.Side{right, left} {
			e := episode(tt.course...)
			if e.Involved = involved; involved == left {
				exchange(e)
			}
			doubts := Measure(e, protocol.Default()).StandingDoubts(involved)
			got := "none"
			if len(doubts) > 0 {
				got = doubts[0].Doubt.String()
			}
			if got != tt.want {
				t.Errorf("%s, involved %v: %s, want %s (%s)", tt.name, involved, got, tt.want, tt.source)
			}
		}
	}
}

// exchange exchanges the sides of all trials.
func exchange(e *shoulder.Episode) {
	for _, s := range e.Sessions {
		for i := range s.Trials {
			s.Trials[i].Side = s.Trials[i].Side.Other()
		}
	}
}

// An index is that of one test of both sides; a strength of nothing has none.
func TestPairsOfOneTest(t *testing.T) {
	tests := []struct {
		session shoulder.Session
		want    []float64
	}{
		{each(0, "70/100 60/120"), []float64{math.Log(0.7), math.Log(0.5)}},
		{each(0, "0/100 60/120"), []float64{math.Log(0.5)}},
		{each(0, "70/0 60/120"), []float64{math.Log(0.5)}},
		{each(0, "70/ /120"), nil},
	}
	for _, tt := range tests {
		e := episode(tt.session)
		d := doubtFinder{e: e, p: protocol.Default()}
		pairs := d.pairs(Measure(e, d.p).Scores)
		if len(pairs) != len(tt.want) {
			t.Fatalf("%d pairs, want the logarithms %v", len(pairs), tt.want)
		}
		for i := range pairs {
			near(t, "logarithm", pairs[i].log, tt.want[i], 1e-9, "by definition")
		}
	}
}

// A doubt names the inputs that show it, and ends for each test when that is repeated.
func TestDoubtAboutAVisitStandsForWhatWasNotRepeated(t *testing.T) {
	m := measured(append(visits("80/100 80/100 80/100 80/100 80/100 80/100", "100/70 100/70 100/70 100/70 100/70 100/70"), each(28, "80/100"))...)
	if doubts := m.StandingDoubts(right); len(doubts) != 1 || doubts[0].Doubt != SidesMayBeSwapped || len(doubts[0].Sources) != 6 {
		t.Errorf("doubts %+v, want that about the second visit, shown by three trials of each side", doubts)
	}
	m = measured(sessionsOf("80/100 100/80 100/80")...)
	if doubts := m.StandingDoubts(right); len(doubts) != 1 || doubts[0].Session != 2 {
		t.Errorf("%d doubts stand, want that about the last visit", len(doubts))
	}
}

func TestDoubtBlocksTheWholeSession(t *testing.T) {
	m := measured(six(0, "70", "100"), six(14, "100", "70"))
	for i := range m.Scores {
		s := &m.Scores[i]
		if s.believed() != (s.Session == 0) {
			t.Fatalf("session %d believed %v, want only the first", s.Session, s.believed())
		}
	}
	if n := len(m.Changes); n != 0 {
		t.Errorf("%d changes, want none from a session in doubt", n)
	}
}

// Sides that a clinician has confirmed once are not asked about at each visit.
func TestAConfirmedStrongSideIsNotAskedAboutAgain(t *testing.T) {
	m := measured(six(0, "80", "100"), six(14, "100", "80", confirmed), six(28, "100", "80"))
	if got := standing(m); got == "sides-may-be-swapped" {
		t.Error("asked about again")
	}
	if got := standing(measured(six(0, "80", "100"), six(14, "100", "80"), six(28, "100", "80"))); got != "sides-may-be-swapped" {
		t.Errorf("%s where nobody has confirmed it: the test shows nothing", got)
	}
}

func TestConfirmedSidesAreBelieved(t *testing.T) {
	for _, d := range measured(six(0, "70", "100"), six(14, "100", "70", confirmed)).Doubts {
		if d.Doubt != ComparisonDeclined {
			t.Errorf("%v, want no doubt but that the comparison side lost 30 %%: a clinician has confirmed the session", d.Doubt)
		}
	}
}

func TestNoUnaffectedSideNoDoubtAboutSides(t *testing.T) {
	e := episode(six(0, "150", "100"))
	e.ComparisonAffected = true
	if got := standing(Measure(e, protocol.Default())); got != "none" {
		t.Errorf("%s, want none: either side may be the stronger one", got)
	}
}

func TestDoubtsAboutUnits(t *testing.T) {
	const none, unit = "none", "unit-may-be-wrong"
	tests := []struct {
		name   string
		course string
		want   string
		factor float64
		source string
	}{
		{"all in kgf", "80/100 8.16/10.2", unit, 1 / 9.80665, "by hand: 100 N = 10.2 kgf"},
		{"all in lbf", "80/100 17.98/22.48", unit, 1 / 4.4482216152605, "by hand: 100 N = 22.48 lbf"},
		{"kgf before, N now", "8.16/10.2 80/100", unit, 9.80665, "by hand: 10.2 kgf = 100 N"},
		{"lbf taken for kgf", "30/40 66.1/88.2", unit, 2.2046226218488, "by hand: 40 kgf = 88.2 lbf"},
		{"within the tolerance", "80/100 9.3/11.6", unit, 1 / 9.80665, "by hand: 11.6 / 10.2 = 1.14"},
		{"outside the tolerance", "80/100 9.5/12", "comparison-side-declined", 0, "by hand: 12 / 10.2 = 1.18; then the fall is taken as it is"},
		{"only the involved side was tested", "80/ 8.16/", unit, 1 / 9.80665, "by definition: nobody falls to a tenth in all six tests"},
		{"the involved side lost half, the other did not", "80/100 40/100", none, 0, "by hand: 0.5 is near 1/2.20, but the comparison side shows 1"},
		{"the involved side, tested alone, lost half", "80/ 40/", none, 0, "by definition: a loss may be real, so it stays one"},
		{"doubled strength", "40/100 88/100", none, 0, "by hand: 2.2, but the comparison side shows 1"},
		{"first session", "8.16/10.2", none, 0, "by definition: nothing to hold it against"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := measured(sessionsOf(tt.course)...)
			if got := standing(m); got != tt.want {
				t.Fatalf("%s: %s, want %s (%s)", tt.course, got, tt.want, tt.source)
			}
			if tt.want == unit {
				near(t, "factor", m.Doubts[0].Factor, tt.factor, 1e-12, tt.source)
			}
		})
	}
}

// Which tests tell a unit, by the involved side alone unless both are written.
func TestTestsThatTellAUnit(t *testing.T) {
	tests := []struct {
		name   string
		course []shoulder.Session
		want   bool
		source string
	}{
		{"two tests", visits("80/ 60/", "8.16/ 6.12/"), true, "by hand: 80 N = 8.16 kgf, 60 N = 6.12 kgf"},
		{"one test", visits("80/", "8.16/"), false, "safety rules, 2: two or more scores"},
		{"two of the comparison side alone", visits("/80 /60", "/8.16 /6.12"), true, "by hand: the same"},
		{"two, held against the visit before", visits("80/ 60/", "45/ 33/", "4.59/ 3.37/"), true, "by hand: 45 N = 4.59 kgf; 80 N would be 8.16"},
		{"behind one that is new", visits("- 80/ 60/", "70/ 8.16/ 6.12/"), true, "by hand: two of two that can be compared"},
		{"behind one that can hardly be measured", visits("4/ 80/ 60/", "3/ 8.16/ 6.12/"), true, "by hand: below 10 N a ratio says nothing"},
		{"behind one that stayed", visits("70/ 80/ 60/", "71/ 8.16/ 6.12/"), true, "by hand: two of three"},
		{"behind one whose trials disagreed then", []shoulder.Session{
			on(0, append(trialsOf("70 71 707"), append(thrice(right, "80", turning(shoulder.Internal)), thrice(right, "60", turning(shoulder.Internal), at(shoulder.Abduction90))...)...)...),
			on(14, append(thrice(right, "8.16", turning(shoulder.Internal)), thrice(right, "6.12", turning(shoulder.Internal), at(shoulder.Abduction90))...)...),
		}, true, "by hand: the others are known from then"},
		{"the other side fell to nothing", visits("80/100 60/", "8.16/0 6.12/"), true, "by definition: nothing has no ratio, so that one side is left to tell"},
		{"the other side was nothing", visits("80/0 60/", "8.16/50 6.12/"), true, "by definition: the same"},
	}
	for _, tt := range tests {
		doubts := measured(tt.course...).StandingDoubts(right)
		if got := slices.ContainsFunc(doubts, func(d *DoubtFound) bool { return d.Doubt == UnitMayBeWrong }); got != tt.want {
			t.Errorf("%s: a wrong unit: %v, want %v (%s)", tt.name, got, tt.want, tt.source)
		}
	}
	// Where both sides can be compared both have to show it.
	e := episode(sessionsOf("80/100 80/10.2")...)
	e.ComparisonAffected = true // nothing is said about sides then
	if got := standing(Measure(e, protocol.Default())); got != "none" {
		t.Errorf("%s where one side alone shows a unit, want none (safety rules, 2)", got)
	}
}

// A session in a wrong unit is not what the next is held against.
func TestTheNextSessionIsHeldAgainstABelievedOne(t *testing.T) {
	if got := standing(measured(sessionsOf("80/100 8.16/10.2 82/101")...)); got != "none" {
		t.Errorf("%s, want none: the third session fits the first", got)
	}
}

func TestConfirmedUnitsAreBelieved(t *testing.T) {
	for _, d := range measured(six(0, "80", "100"), six(14, "8.16", "10.2", confirmed)).Doubts {
		if d.Doubt != ComparisonDeclined {
			t.Errorf("%v, want no doubt but that the comparison side fell: a clinician has confirmed the session", d.Doubt)
		}
	}
}
