package measure

import (
	"math"
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// The mean of six tests has a standard error of 0.1 x sqrt(0.5 + 0.5/6) = 0.0764 at
// 10 % error, half of which is the day's. A change is a fraction of the mean of both
// values; against n sessions its error is 0.0764 x sqrt(1 + 1/n).
func TestTheComparisonSideDeclined(t *testing.T) {
	tests := []struct {
		name   string
		course string
		error  int
		want   bool
		source string
	}{
		{"a quarter after one session", "70/100 70/75", 10, true, "by hand: 25 / 87.5 = 0.286 > 2.576 x 0.1080 = 0.278"},
		{"a quarter after four sessions", "70/100 70/100 70/100 70/100 70/75", 10, true, "by hand: 0.286 > 2.807 x 0.0854 = 0.240, against the mean of all"},
		{"a fifth after one session", "70/100 70/80", 10, false, "by hand: 20 / 90 = 0.222 < 0.278"},
		{"a fifth after one session, less error", "70/100 70/80", 7, true, "by hand: 0.222 > 2.576 x 0.0756 = 0.195"},
		{"21 % after four sessions", "70/100 70/100 70/100 70/100 70/79", 10, false, "by hand: 21 / 89.5 = 0.235 < 2.807 x 0.0854 = 0.240"},
		{"27 % below one of four sessions", "70/100 70/75 70/75 70/75 70/73", 10, false, "by hand: 27 / 86.5 = 0.312 < z(0.5 % / 2 / 4) = 3.227 x 0.1080 = 0.349"},
		{"30 % below one of four sessions", "70/100 70/75 70/75 70/75 70/70", 10, true, "by hand: 30 / 85 = 0.353 > 0.349"},
		{"a fifth after four sessions", "70/100 70/100 70/100 70/100 70/80", 10, false, "by hand: 0.222 < 0.240"},
		{"a twelfth is less than a tenth", "70/100 70/100 70/100 70/92", 1, false, "by definition: under 10 %; the floor of 5 N aside"},
		{"a steady comparison side", "70/100 72/98 74/101", 10, false, "by definition"},
		{"a comparison side that learns", "70/100 72/115 74/120", 10, false, "by definition: it rose"},
		{"a weak comparison side down by a quarter", "16/20 16/15", 10, false, "by hand: 5 N of 17.5 are 29 %; 0.286 < 2.576 x 0.309"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := Measure(episode(sessionsOf(tt.course)...), withError(tt.error))
			found := false
			for _, d := range m.StandingDoubts(right) {
				found = found || d.Doubt == ComparisonDeclined
			}
			if found != tt.want {
				t.Errorf("%s at %d %%: declined %v, want %v (%s)", tt.course, tt.error, found, tt.want, tt.source)
			}
		})
	}
}

// The fall says how much, on the scale of the earlier strength.
func TestFallOfTheComparisonSide(t *testing.T) {
	m := measured(sessionsOf("70/100 70/75")...)
	near(t, "fall", m.Doubts[0].Fall, 25, 0.2, "by hand: 1 - exp(-0.286) = 24.9 %, and 25 in the deepest test")
	d := m.Doubts[0]
	if now, then := d.Score.Value.String(), d.Other.Value.String(); d.Tests != 6 || now != "75" || then != "100" {
		t.Errorf("%d tests, %s after %s, want 6, 75 after 100", d.Tests, now, then)
	}
}

// One test of six is beyond error at z(0.5 % / 6) = 3.144 standard errors.
func TestALargeFallInOneTest(t *testing.T) {
	tests := []struct {
		now    string
		want   bool
		source string
	}{
		{"50", true, "by hand: a half; 50 / (7.5 x sqrt 2) = 4.71"},
		{"61", false, "by definition: 39 % is under 40 %"},
	}
	for _, tt := range tests {
		first, second := six(0, "70", "100"), six(14, "70", "100")
		second.Trials = append(second.Trials[6:], append(thrice(right, "70"), thrice(left, tt.now)...)...)
		if got := len(measured(first, second).Doubts) == 1; got != tt.want {
			t.Errorf("100 to %s in one test: declined %v, want %v (%s)", tt.now, got, tt.want, tt.source)
		}
	}
}

func TestADeclineBlocksNoScore(t *testing.T) {
	m := measured(sessionsOf("70/100 70/75")...)
	for i := range m.Scores {
		if !m.Scores[i].believed() {
			t.Fatal("a score of a declined side is true, and must count")
		}
	}
}

func TestNoComparisonSideNoDecline(t *testing.T) {
	e := episode(sessionsOf("70/100 70/60")...)
	e.ComparisonAffected = true
	if m := Measure(e, protocol.Default()); len(m.Doubts) != 0 {
		t.Errorf("%d doubts, want none without an unaffected side", len(m.Doubts))
	}
}

func TestHistory(t *testing.T) {
	p := protocol.Default()
	tests := []struct {
		name                  string
		course                []shoulder.Session
		falls, tests, against int
		source                string
	}{
		{"one session", []shoulder.Session{six(0, "80", "100")}, 0, 0, 0, "by definition: nothing before"},
		{"two sessions", []shoulder.Session{six(0, "80", "100"), six(14, "80", "100")}, 6, 6, 1, "by hand: six tests"},
		{"on the edge of twelve weeks", []shoulder.Session{six(0, "80", "100"), six(84, "80", "100")}, 6, 6, 1, "protocol: at most 84 days"},
		{"the session before, a day over twelve weeks ago", []shoulder.Session{six(0, "80", "100"), six(85, "80", "100")}, 6, 6, 1, "by definition: however long ago"},
		{"an earlier one, a day over twelve weeks ago", []shoulder.Session{six(0, "80", "100"), six(14, "80", "100"), six(85, "80", "100")}, 6, 6, 1, "protocol: at most 84 days"},
		{"make after break is another test", []shoulder.Session{six(0, "80", "100", byBreak), six(14, "80", "100")}, 0, 0, 0, "Shah et al. 2020: break reads higher, so a lower make test says nothing"},
		{"break after make", []shoulder.Session{six(0, "80", "100"), six(14, "80", "100", byBreak)}, 6, 6, 1, "Shah et al. 2020: break reads higher, so a lower break test is a loss"},
		{"make and break on one day", []shoulder.Session{six(0, "80", "100"), {When: day(14), Trials: append(six(14, "80", "100").Trials, six(14, "90", "110", byBreak).Trials...)}}, 6, 6, 1,
			"by definition: the break tests did not come after the make tests"},
		{"one test repeated", []shoulder.Session{six(0, "80", "100"), on(14, trial(right, "80"))}, 1, 1, 1, "by hand"},
		{"a doubtful one is no yardstick", []shoulder.Session{on(0, trialsOf("80 81 808")...), on(14, trial(right, "80"))}, 0, 0, 0, "by definition"},
		{"a doubtful one is held against others", []shoulder.Session{on(0, trial(right, "80")), on(14, trialsOf("80 81 808")...)}, 1, 1, 1, "by definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h := HistoryOf(measured(tt.course...).Scores, right, true, p)
			if len(h.Falls) != tt.falls || h.Tests != tt.tests || h.Sessions != tt.against {
				t.Errorf("%d falls of %d tests against %d sessions, want %d, %d, %d (%s)",
					len(h.Falls), h.Tests, h.Sessions, tt.falls, tt.tests, tt.against, tt.source)
			}
		})
	}
}

func TestFall(t *testing.T) {
	tests := []struct {
		name, then, now string
		percent, errors float64
		source          string
	}{
		{"half", "80", "40", 50, 4.714045, "by hand: 40 / (6 x sqrt 2)"},
		{"a rise", "40", "80", -100, -4.714045, "by hand"},
		{"none", "80", "80", 0, 0, "by definition"},
		{"to nothing", "80", "0", 100, 11.313708, "by hand: 80 / (5 x sqrt 2), on the floor"},
		{"from nothing", "0", "80", 0, -11.313708, "by definition: no per cent of nothing"},
		{"always nothing", "0", "0", 0, 0, "by definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			scores := measured(on(0, thrice(right, tt.then)...), on(14, thrice(right, tt.now)...)).Scores
			f := Fall{Now: &scores[1], Then: &scores[0]}
			near(t, "per cent", f.Percent(), tt.percent, 1e-9, tt.source)
			near(t, "standard errors", f.Errors(), tt.errors, 1e-6, tt.source)
		})
	}
}

// Without any error each difference is beyond it, and a change of nothing is none.
func TestFallAtTheEdges(t *testing.T) {
	of := func(then, now string) Fall {
		return Fall{Now: &Score{Value: exact.MustParse(now)}, Then: &Score{Value: exact.MustParse(then)}}
	}
	if got := of("80", "79").Errors(); !math.IsInf(got, 1) {
		t.Errorf("a fall is %v errors, want infinitely many", got)
	}
	if got := of("79", "80").Errors(); !math.IsInf(got, -1) {
		t.Errorf("a rise is %v errors, want infinitely many below nothing", got)
	}
	if change, variance := of("0", "0").relative(); change != 0 || variance != 1 {
		t.Errorf("from nothing to nothing: %v, variance %v, want no change, and nothing known", change, variance)
	}
}

// The best earlier strength of a test is named if it is more than the latest; of tests that can be compared.
func TestEarlierBest(t *testing.T) {
	for _, tt := range []struct{ course, want string }{
		{"70/80 70/100 70/90 70/85", "100"}, {"70/100 70/90 70/85", "100"}, {"70/80 70/85 70/85", ""}, {"70/85", ""},
	} {
		m := measured(sessionsOf(tt.course)...)
		h := HistoryOf(m.Scores, left, true, protocol.Default())
		got := ""
		if best := h.EarlierBest(m.LatestScore(left, shoulder.External, shoulder.AtSide)); best != nil {
			got = best.Value.String()
		}
		if got != tt.want {
			t.Errorf("%s: the earlier best is %q, want %q (by definition)", tt.course, got, tt.want)
		}
	}
	course := []shoulder.Session{each(0, "/100 /120"), each(14, "/90 /110")}
	m := measured(course...)
	h := HistoryOf(m.Scores, left, true, protocol.Default())
	if best := h.EarlierBest(m.LatestScore(left, shoulder.External, shoulder.AtSide)); best == nil || best.Value.String() != "100" {
		t.Errorf("the earlier best of the first test is %+v, want its own 100", best)
	}
}

// Which later strength is a loss against an earlier one.
//
// Source: Shah et al. 2020, Clin Biomech 80:105189: break reads higher than make.
func TestComparableStrengths(t *testing.T) {
	of := func(options ...func(*shoulder.Trial)) *Score {
		return &measured(on(0, trial(right, "80", options...))).Scores[0]
	}
	makes, breaks := of(), of(byBreak)
	for name, tt := range map[string]struct {
		now, then *Score
		want      bool
	}{
		"make after make":             {makes, of(), true},
		"break after break":           {breaks, of(byBreak), true},
		"break after make":            {breaks, makes, true},
		"make after break":            {makes, breaks, false},
		"break of another motion":     {of(byBreak, turning(shoulder.Internal)), makes, false},
		"another position":            {of(at(shoulder.Abduction90)), makes, false},
		"torque after force":          {of(inTorque), makes, false},
		"break and make on two sides": {&measured(on(0, trial(left, "80", byBreak))).Scores[0], makes, false},
	} {
		if got := Comparable(tt.now, tt.then); got != tt.want {
			t.Errorf("%s: %v, want %v", name, got, tt.want)
		}
	}
}

// The latest of each test, once each.
func TestLatestOfTests(t *testing.T) {
	scores := measured(on(0, trial(right, "80"), trial(right, "70", turning(shoulder.Internal))), on(14, trial(right, "85")), on(28, trial(right, "90"))).Scores
	latest := latestOfTests(sideOf(scores, right))
	if len(latest) != 2 || latest[0].Value.String() != "90" || latest[1].Value.String() != "70" {
		t.Errorf("%d latest tests, want 90 of the one and 70 of the other", len(latest))
	}
}
