package measure

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// A fall of one test from a to b is (a - b) / m of its mean m, and has a standard error of 0.1 x sqrt(2) = 0.1414 at 10 % error. The
// mean of n tests against one session has 0.1 x sqrt(2 x (0.5 + 0.5/n)): 0.1080, 0.1118, 0.1155 and 0.1225 for n of 6, 4, 3 and 2.
// The limits in standard errors: 2.576 for several tests, each, against one session, 3.023 against four; 3.144 for one of six;
// z(0.5 % / 3) = 2.935 for all tests together or those of one motion.
func TestLosses(t *testing.T) {
	steady := func(n int) string { return strings.Repeat("100/ ", n) }
	four := func(now string) []shoulder.Session {
		return visits(steady(6), steady(6), steady(6), steady(6), now)
	}
	tests := []struct {
		name     string
		course   []shoulder.Session
		error    int
		then     string // of the test that shows it; empty if there is no loss
		now      string
		tests    int
		together float64 // per cent
		source   string
	}{
		{"nothing fell", visits(steady(6), steady(6)), 10, "", "", 0, 0, "by definition"},
		{"two of six", visits(steady(6), "100/ 65/ 100/ 100/ 100/ 66/"), 10, "100", "65", 2, 0, "by hand: 35 / 82.5 = 3.00 and 34 / 83 = 2.90 standard errors"},
		{"two of six, the deeper one last", visits(steady(6), "100/ 66/ 100/ 100/ 100/ 65/"), 10, "100", "65", 2, 0, "by hand: the same"},
		{"one of six, by less than 40 %", visits(steady(6), "100/ 65/ 100/ 100/ 100/ 100/"), 10, "", "", 0, 0, "safety rules, 1: two or more, or one by 40 %"},
		{"two of six after four sessions, by 30 %", four("100/ 70/ 100/ 100/ 100/ 70/"), 10, "", "", 0, 0, "by hand: 30 / 85 = 2.50 standard errors < 3.023"},
		{"two of six after four sessions, by 36 %", four("100/ 64/ 100/ 100/ 100/ 64/"), 10, "100", "64", 2, 0, "by hand: 36 / 82 = 3.10 standard errors"},
		{"the deepest of an earlier session", visits("120/ 120/", "100/ 100/", "60/ 60/"), 10, "120", "60", 2, 0, "by definition: 50 % is more than 40 %"},
		{"the deepest of a later session", visits("100/ 100/", "120/ 120/", "60/ 60/"), 10, "120", "60", 2, 0, "by definition: the same"},
		{"one of six by 45 %", visits(steady(6), "100/ 100/ 100/ 100/ 55/ 100/"), 10, "100", "55", 1, 0, "by hand: 45 / 77.5 = 4.11 standard errors"},
		{"one of six by 40 %, more error", visits(steady(6), "100/ 100/ 100/ 100/ 60/ 100/"), 12, "", "", 0, 0, "by hand: 40 / 80 = 2.95 standard errors of 12 % < 3.144"},
		{"one of six by 40 %", visits(steady(6), "100/ 100/ 100/ 100/ 60/ 100/"), 10, "100", "60", 1, 0, "by hand: 3.54 standard errors > 3.144"},
		{"all together", visits(steady(6), "78/ 77/ 76/ 75/ 73/ 74/"), 10, "", "", 0, 0, "by hand: 0.2811 in the mean < 2.935 x 0.1080 = 0.317"},
		{"all together, by more", visits(steady(6), "73/ 72/ 71/ 70/ 69.5/ 72/"), 10, "100", "69.5", 6, 28.5, "by hand: 0.3359 in the mean > 0.317; none alone, of which 30.5 / 84.75 = 2.54"},
		{"two tests together", visits(steady(2), "69.4/ 69.4/"), 10, "100", "69.4", 2, 30.3, "by hand: 0.3613 > 2.935 x 0.1225 = 0.3595; alone 2.55 < 2.576"},
		{"those of one motion together", visits("100/ - - 100/ 100/ 100/", "100/ - - 70/ 70/ 70/"), 10, "100", "70", 3, 29.7, "by hand: 0.353 > 2.935 x 0.1155 = 0.339; all four 0.265 < 0.328; alone 2.50"},
		{"those of one motion together, by less", visits("100/ - - 100/ 100/ 100/", "100/ - - 73/ 73/ 73/"), 10, "", "", 0, 0, "by hand: 27 / 86.5 = 0.312 < 0.339"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := withError(tt.error)
			loss, found := LossOf(Measure(episode(tt.course...), p).Scores, right, true, p, func(*Score) bool { return true })
			if found != (tt.then != "") {
				t.Fatalf("a loss: %v, %+v, want %v (%s)", found, loss, tt.then != "", tt.source)
			}
			if !found {
				return
			}
			if then, now := loss.Then.Value.String(), loss.Now.Value.String(); then != tt.then || now != tt.now || loss.Tests != tt.tests {
				t.Errorf("from %s to %s in %d tests, want %s, %s, %d (%s)", then, now, loss.Tests, tt.then, tt.now, tt.tests, tt.source)
			}
			near(t, "together", loss.Together, tt.together, 0.1, tt.source)
		})
	}
}

// Only strengths that count are examined, and the deepest large fall is named, whichever comes first.
func TestTheDeepestLargeFall(t *testing.T) {
	p := protocol.Default()
	for _, now := range []string{"55/ 40/ 100/ 100/ 100/ 100/", "40/ 55/ 100/ 100/ 100/ 100/"} {
		scores := measured(visits("100/ 100/ 100/ 100/ 100/ 100/", now)...).Scores
		h := HistoryOf(scores, right, true, p)
		if loss, found := h.largeFall(p); !found || loss.Now.Value.String() != "40" {
			t.Errorf("%s: %v, %+v, want the fall to 40", now, found, loss)
		}
		if _, found := LossOf(scores, right, true, p, func(s *Score) bool { return s.Value.String() == "100" }); found {
			t.Errorf("%s: a loss among the strengths that stayed", now)
		}
		if _, found := LossOf(scores, right, false, p, func(*Score) bool { return true }); found {
			t.Errorf("%s: a loss of abduction, which was not tested", now)
		}
	}
}

// The falls against each earlier session, the oldest first, and each of its own tests.
func TestFallsBySession(t *testing.T) {
	h := HistoryOf(measured(visits("100/ 100/", "90/", "80/ 80/", "70/ 70/")...).Scores, right, true, protocol.Default())
	var sizes []int
	h.BySession(func(falls []Fall) { sizes = append(sizes, len(falls)) })
	if !slices.Equal(sizes, []int{2, 1, 2}) {
		t.Errorf("%v falls, want 2, 1 and 2", sizes)
	}
	var none History
	none.BySession(func([]Fall) { t.Error("a session without falls") })
}
