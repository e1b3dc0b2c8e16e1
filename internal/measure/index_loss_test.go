package measure

import (
	"strings"
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// A fall of an index from a to b is ln(a/b), with a standard error of sqrt(4 x 0.01) = 0.2 at 10 % error of each of the four
// strengths. The mean of n tests has 0.2 x sqrt(0.5 + 0.5/n): 0.1528 for six and 0.1732 for two. The limits in standard errors:
// z(0.25 %) = 2.807 for all together, or one that is alone; z(0.25 % / 2) = 3.023 for one of two; and 1.960 for the latest session.
func TestLossesOfTheIndex(t *testing.T) {
	belt := by(shoulder.BeltStabilised)
	all := func(n int, involved string, options ...func(*shoulder.Trial)) shoulder.Session {
		return six(n, involved, "100", options...)
	}
	strong := func(involved string) string { return involved + "/400 " }
	six400 := func(of string) string {
		return strong(of) + strong(of) + strong(of) + strong(of) + strong(of) + strong(of)
	}
	tests := []struct {
		name     string
		course   []shoulder.Session
		error    int
		now      int // day that shows it; 0 if there is no loss
		tests    int
		together float64 // per cent
		source   string
	}{
		{"nothing changed", []shoulder.Session{all(0, "100"), all(14, "50")}, 10, 0, 0, 0, "by definition: the strengths can be compared"},
		{"a third of all", []shoulder.Session{all(0, "100"), all(14, "64", belt)}, 10, 14, 6, 36, "by hand: ln(100/64) = 0.446 > 2.807 x 0.1528 = 0.429"},
		{"less of all", []shoulder.Session{all(0, "100"), all(14, "68", belt)}, 10, 0, 0, 0, "by hand: 0.386 < 0.429"},
		{"a third of all, and it stays", []shoulder.Session{all(0, "100"), all(14, "64", belt), all(28, "64", belt)}, 10, 14, 6, 36, "by definition: the earliest"},
		{"only later", []shoulder.Session{all(0, "100"), all(14, "100", belt), all(28, "64", belt)}, 10, 28, 6, 36, "by definition"},
		{"regained", []shoulder.Session{all(0, "100"), all(14, "64", belt), all(28, "80", belt)}, 10, 0, 0, 0, "by hand: 0.223 < 1.960 x 0.1528 = 0.299"},
		{"in part regained", []shoulder.Session{all(0, "100"), all(14, "64", belt), all(28, "72", belt)}, 10, 14, 6, 36, "by hand: 0.329 > 0.299"},
		{"another way of testing between", []shoulder.Session{all(0, "100"), all(14, "100", belt), all(28, "50"), all(42, "64", belt)}, 10, 42, 6, 36, "by definition: the present way, against the last before it"},
		{"the last before the change", []shoulder.Session{all(0, "100"), all(14, "70"), all(28, "64", belt)}, 10, 0, 0, 0, "by hand: ln(70/64) = 0.090"},
		{"twelve weeks later", []shoulder.Session{all(0, "100"), all(84, "64", belt)}, 10, 84, 6, 36, "protocol: at most 84 days"},
		{"a day over twelve weeks later", []shoulder.Session{all(0, "100"), all(85, "64", belt)}, 10, 0, 0, 0, "protocol: at most 84 days"},
		{"to nothing", []shoulder.Session{all(0, "100"), all(14, "0", belt)}, 10, 0, 0, 0, "by definition: nothing has no logarithm; it is another red flag"},
		{"all by a little less than a tenth, hardly any error", []shoulder.Session{each(0, six400("400")), each(14, six400("364"), belt)}, 2, 0, 0, 0, "by hand: ln(400/364) = 0.094 > 2.807 x 0.0306 = 0.086, but 9 %"},
		{"all by a little more than a tenth, hardly any error", []shoulder.Session{each(0, six400("400")), each(14, six400("356"), belt)}, 2, 14, 6, 11, "by hand: 11 %"},

		{"one of one by 45 %", []shoulder.Session{each(0, "100/100"), each(14, "55/100", belt)}, 10, 14, 1, 0, "by hand: 0.598 > 2.807 x 0.2 = 0.561"},
		{"one of one by 41 %", []shoulder.Session{each(0, "100/100"), each(14, "59/100", belt)}, 10, 0, 0, 0, "by hand: 0.528 < 0.561"},
		{"one of one by 30 %, hardly any error", []shoulder.Session{each(0, strong("400")), each(14, strong("280"), belt)}, 2, 0, 0, 0, "protocol: at least 40 %"},
		{"one of two by a half", []shoulder.Session{each(0, "100/100 100/100"), each(14, "50/100 100/100", belt)}, 10, 14, 1, 0, "by hand: 0.693 > 3.023 x 0.2 = 0.605; the mean 0.347 > 1.960 x 0.1732 = 0.339"},
		{"one of two by 43 %, the other by 18 %", []shoulder.Session{each(0, "100/100 100/100"), each(14, "57/100 82/100", belt)}, 10, 0, 0, 0, "by hand: 0.562 < 0.605; the mean 0.380 < 2.807 x 0.1732 = 0.486"},
		{"one of two by 46 %", []shoulder.Session{each(0, "100/100 100/100"), each(14, "54/100 100/100", belt)}, 10, 0, 0, 0, "by hand: 0.616 > 0.605, but the mean 0.308 < 0.339"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := withError(tt.error)
			m := Measure(episode(tt.course...), p)
			loss, found := m.LossOfIndex(true, p)
			if found != (tt.now != 0) {
				t.Fatalf("a loss: %v, %+v, want %v (%s)", found, loss, tt.now != 0, tt.source)
			}
			if _, others := m.LossOfIndex(false, p); others {
				t.Error("a loss of abduction, which was not tested")
			}
			if !found {
				return
			}
			last := tt.course[len(tt.course)-1].When
			if !loss.Now.When.Equal(day(tt.now)) || !loss.Then.When.Equal(day(0)) || !loss.Latest.When.Equal(last) || loss.Tests != tt.tests {
				t.Errorf("%v after %v, the latest %v, in %d tests; want day %d after the first, %v, %d (%s)", loss.Now.When, loss.Then.When, loss.Latest.When, loss.Tests, tt.now, last, tt.tests, tt.source)
			}
			near(t, "together", loss.Together, tt.together, 0.01, tt.source)
		})
	}
}

// The strength before the way of testing changed, if that was of the last twelve weeks and in the same unit.
func TestStrengthBeforeTheChange(t *testing.T) {
	tests := []struct {
		name   string
		course []shoulder.Session
		want   string
		source string
	}{
		{"nothing changed", []shoulder.Session{on(0, trial(right, "80")), on(14, trial(right, "70"))}, "", "by definition"},
		{"break after make", []shoulder.Session{on(0, trial(right, "80")), on(14, trial(right, "70", byBreak))}, "80", "by definition"},
		{"the latest before", []shoulder.Session{on(0, trial(right, "80")), on(7, trial(right, "75")), on(14, trial(right, "70", byBreak))}, "75", "by definition"},
		{"twelve weeks before", []shoulder.Session{on(0, trial(right, "80")), on(84, trial(right, "70", byBreak))}, "80", "protocol: at most 84 days"},
		{"longer before", []shoulder.Session{on(0, trial(right, "80")), on(85, trial(right, "70", byBreak))}, "", "protocol: at most 84 days"},
		{"a torque after a force", []shoulder.Session{on(0, trial(right, "80")), on(14, trial(right, "20", inTorque))}, "", "by definition: newtons and newton metres"},
		{"another test of the same day", []shoulder.Session{on(0, trial(right, "80", unsupported)), on(14, trial(right, "90", byBreak), trial(right, "70"))}, "80", "by definition: an earlier session"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := measured(tt.course...)
			for i := range m.Scores {
				s := &m.Scores[i]
				if s.Session != len(tt.course)-1 {
					continue
				}
				got := ""
				if then := m.BeforeChange(s, protocol.Default()); then != nil {
					got = then.Value.String()
				}
				if got != tt.want {
					t.Errorf("before %v: %q, want %q (%s)", s.Value, got, tt.want, tt.source)
				}
			}
		})
	}
	m := measured(on(0, trial(right, "80")))
	other := measured(on(0, trial(left, "80"))).Scores[0]
	if got := m.BeforeChange(&other, protocol.Default()); got != nil {
		t.Errorf("a side that was never tested has %v before", got.Value)
	}
}

// All tests are lower if there are three of them at least, whatever else changed.
func TestAllLower(t *testing.T) {
	tests := []struct {
		name   string
		course string
		want   int
	}{
		{"three lower", "70/ 70/ 70/,69/ 69/ 69/", 3},
		{"four lower", "70/ 70/ 70/ 70/,69/ 69/ 69/ 69/", 4},
		{"two lower", "70/ 70/,69/ 69/", 0},
		{"one as before", "70/ 70/ 70/ 70/,69/ 69/ 69/ 70/", 0},
		{"one higher", "70/ 70/ 70/ 70/,71/ 69/ 69/ 69/", 0},
	}
	for _, tt := range tests {
		m := measured(visits(strings.Split(tt.course, ",")...)...)
		changes := []*Change{{Subject: PainChange}}
		for i := range m.Changes {
			if m.Changes[i].Against == Previous {
				changes = append(changes, &m.Changes[i])
			}
		}
		if got := AllLower(changes); got != tt.want {
			t.Errorf("%s: %d, want %d (by definition, and common practice)", tt.name, got, tt.want)
		}
	}
}
