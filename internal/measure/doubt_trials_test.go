package measure

import (
	"strings"
	"testing"

	"evenreach.example/internal/shoulder"
)

func trialsOf(values string, options ...func(*shoulder.Trial)) (trials []shoulder.Trial) {
	for v := range strings.FieldsSeq(values) {
		trials = append(trials, trial(right, v, options...))
	}
	return trials
}

func TestTrialsDisagree(t *testing.T) {
	tests := []struct {
		name   string
		values string
		doubt  bool
		apart  string // the value that stands apart, "" if none can be told
		source string
	}{
		{"a digit too many", "80 81 808", true, "808", "by hand: 808 is 9.98 times the median 81"},
		{"two that differ", "80 200", true, "", "by hand: 200 is 1.43 and 80 is 1/1.75 of the median 140; of two none can be told"},
		{"two alike", "80 90", false, "", "by hand: 1.06 times the median, variation 8 %"},
		{"four, one a fifth more", "100 100 100 120", false, "", "by hand: 1.2 times the median 100, variation 9.5 %"},
		{"one trial", "80", false, "", "by definition"},
		{"a child's weak trials", "10 12 14", false, "", "by hand: 2 N from the median, within the floor of 5 N"},
		{"within the floor though twice as much", "4 9 14", false, "", "by hand: 5 N from the median"},
		{"just over the floor", "4 9 14.5", true, "14.5", "by hand: 5.5 N and 1.6 times the median; 14.5 is 123 % off the median 6.5 of the others, 4 is 66 % off 11.75"},
		{"on the ratio", "100 100 100 100 100 100 150", false, "", "by hand: 1.5 is not more than 1.5; variation 17.6 %"},
		{"over the ratio", "100 100 100 100 100 100 151", true, "151", "by hand: 1.51 times the median; variation 18.0 %"},
		{"under the inverse ratio", "100 100 100 100 100 100 66", true, "66", "by hand: the median is 1.515 times 66"},
		{"on the variation", "80 100 120", false, "", "by hand: s = 20 of a mean of 100; ratios of 1.25 and 1.2"},
		{"over the variation", "70 100 130", true, "130", "by hand: s = 30 of 100; 130 is 53 % off the median 85 of the others, 70 is 39 % off 115"},
		{"one silent trial", "0 100 100", true, "0", "by definition: no ratio contains 0"},
		{"all but one silent", "0 0 50", true, "50", "by definition: the others agree"},
		{"all silent", "0 0 0", false, "", "by definition: they agree"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := measured(on(0, trialsOf(tt.values)...))
			if got := m.Scores[0].Doubts.Has(TrialsDisagree); got != tt.doubt || len(m.Doubts) == 1 != tt.doubt {
				t.Fatalf("%s: doubted %v, found %d, want %v (%s)", tt.values, got, len(m.Doubts), tt.doubt, tt.source)
			}
			if tt.doubt {
				checkApart(t, &m.Doubts[0], tt.apart, tt.source)
			}
		})
	}
}

// A reading that was refused beside others puts them in doubt as one that was not.
//
// Source: "less is never more", a rule of ours.
func TestARefusedReadingPutsItsTestInDoubt(t *testing.T) {
	tests := []struct {
		name    string
		trials  []shoulder.Trial
		refused shoulder.Trial
		doubt   bool
	}{
		{"of the same test", trialsOf("100 101"), trial(right, "701"), true},
		{"beside one trial", trialsOf("100"), trial(right, "701"), true},
		{"of the other side", trialsOf("100 101"), trial(left, "701"), false},
		{"of another motion", trialsOf("100 101"), trial(right, "701", turning(shoulder.Internal)), false},
		{"confirmed", trialsOf("100 101", confirmed), trial(right, "701"), false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := on(0, tt.trials...)
			s.Refused = []shoulder.Trial{tt.refused}
			m := measured(s)
			if got := m.Scores[0].Doubts.Has(TrialsDisagree); got != tt.doubt || m.Scores[0].Trials != len(tt.trials) {
				t.Fatalf("doubted %t, %d trials, want %t and %d", got, m.Scores[0].Trials, tt.doubt, len(tt.trials))
			}
			if tt.doubt && (m.Doubts[0].ApartValue == nil || m.Doubts[0].ApartValue.String() != "701" || len(m.Doubts[0].Trials) != len(tt.trials)+1) {
				t.Errorf("apart %v of %v, want 701 beside the others", m.Doubts[0].ApartValue, m.Doubts[0].Trials)
			}
		})
	}
}

func checkApart(t *testing.T, d *DoubtFound, want, source string) {
	t.Helper()
	got := ""
	if d.ApartValue != nil {
		got = d.ApartValue.String()
	}
	if got != want || (d.Apart >= 0) != (want != "") {
		t.Errorf("apart = %q of input %d, want %q (%s)", got, d.Apart, want, source)
	}
}

func TestTorqueHasItsOwnFloor(t *testing.T) {
	for values, want := range map[string]bool{"2 3 4.25": false, "2 3 4.6": true} {
		m := measured(on(0, trialsOf(values, inTorque)...))
		if got := len(m.Doubts) == 1; got != want {
			t.Errorf("%s N.m: doubted %v, want %v (by hand: floor of 1.25 N.m; 4.6 is 1.53 times the median 3)", values, got, want)
		}
	}
}

func TestConfirmedTrialsAreBelieved(t *testing.T) {
	tests := []struct {
		name   string
		trials []shoulder.Trial
		doubt  bool
	}{
		{"all confirmed", trialsOf("80 81 808", confirmed), false},
		{"the one apart confirmed", append(trialsOf("80 81"), trial(right, "808", confirmed)), false},
		{"another one confirmed", append(trialsOf("81 808"), trial(right, "80", confirmed)), true},
		{"one of two confirmed, the other is still far from both", append(trialsOf("80"), trial(right, "200", confirmed)), true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := measured(on(0, tt.trials...)).Scores[0].Doubts.Has(TrialsDisagree); got != tt.doubt {
				t.Errorf("doubted %v, want %v (by definition)", got, tt.doubt)
			}
		})
	}
}

// The first input of all may be the one that is confirmed.
func TestConfirmedFirstInput(t *testing.T) {
	trials := trialsOf("100 70")
	apart := trial(right, "130", confirmed)
	apart.Source = 0
	if measured(on(0, append(trials, apart)...)).Scores[0].Doubts.Has(TrialsDisagree) {
		t.Error("doubted, want the set believed: what makes it vary is confirmed (130 is 53 % off the median 85 of the others)")
	}
}

// The trials that a doubt shows are those of its test: the other side's, another test's and torques are not among them.
// It stands until the motion is tested again in the position, in whatever way.
func TestTrialsOfADoubt(t *testing.T) {
	all := append(trialsOf("80 81 808"), trial(left, "90"), trial(left, "91"), trial(right, "20", inTorque), trial(right, "70", turning(shoulder.Internal)), trial(right, "95", byBreak))
	m := measured(on(0, all...))
	if len(m.Doubts) != 1 || len(m.Doubts[0].Trials) != 3 {
		t.Fatalf("doubts %+v, want one with three trials", m.Doubts)
	}
	for i, want := range []string{"80", "81", "808"} {
		if got := m.Doubts[0].Trials[i].String(); got != want {
			t.Errorf("trial %d: %s, want %s", i, got, want)
		}
	}
	if got := standing(m); got != "trials-disagree" {
		t.Errorf("%s stands, want the doubt about the trials", got)
	}
	if got := standing(measured(on(0, all...), on(7, trial(right, "70", turning(shoulder.Internal))))); got != "trials-disagree" {
		t.Errorf("%s stands after another test, want the doubt about the trials", got)
	}
}

// A doubtful test is repeated; then it is doubted no more, and never counted.
func TestRepeatingATestEndsTheDoubt(t *testing.T) {
	good, bad := trialsOf("80 81 82"), trialsOf("80 81 808")
	m := measured(on(0, good...), on(7, bad...), on(14, good...))
	if n := len(m.StandingDoubts(right)); n != 0 {
		t.Errorf("%d doubts stand, want none after the test was repeated", n)
	}
	for _, c := range m.Changes {
		if c.Against == Previous && !c.FromWhen.Equal(day(0)) {
			t.Errorf("held against %v, want the session before the doubtful one", c.FromWhen)
		}
	}
	if m := measured(on(0, good...), on(7, bad...)); len(m.StandingDoubts(right)) != 1 {
		t.Errorf("%d doubts stand, want the one about the latest test", len(m.StandingDoubts(right)))
	}
}
