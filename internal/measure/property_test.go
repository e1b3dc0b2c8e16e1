package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

func drawForce(t *rapid.T, label string) string {
	return fmt.Sprintf("%d.%02d", rapid.IntRange(1, 400).Draw(t, label), rapid.IntRange(0, 99).Draw(t, label+" hundredths"))
}

func indexOf(t *rapid.T, involved, comparison shoulder.Trial) *Symmetry {
	m := measured(on(0, involved, comparison))
	if len(m.Symmetries) != 1 {
		t.Fatalf("unpaired: %+v", m.Unpaired)
	}
	return &m.Symmetries[0]
}

// 1 kgf = 9.80665 N exactly, so a common factor stands for a change of unit.
func TestIndexDoesNotDependOnTheUnit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := trial(right, drawForce(t, "a")), trial(left, drawForce(t, "b"))
		newtons := indexOf(t, a, b)
		factor := exact.MustParse("9.80665")
		a.Value, b.Value = a.Value.Mul(factor), b.Value.Mul(factor)
		kilograms := indexOf(t, a, b)
		if newtons.Index.Cmp(kilograms.Index) != 0 {
			t.Fatalf("index %v in N, %v in kgf", newtons.Index, kilograms.Index)
		}
	})
}

func TestIndicesOfSwappedSidesMultiplyToTenThousand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawForce(t, "a"), drawForce(t, "b")
		there := indexOf(t, trial(right, a), trial(left, b)).Index
		back := indexOf(t, trial(right, b), trial(left, a)).Index
		if there.Mul(back).Cmp(exact.Int(10000)) != 0 {
			t.Fatalf("%v x %v is not 10,000", there, back)
		}
	})
}

func TestIntervalContainsTheIndex(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := indexOf(t, trial(right, drawForce(t, "a")), trial(left, drawForce(t, "b")))
		if !s.Interval.Contains(s.Index.Float64()) {
			t.Fatalf("%+v does not contain %v", s.Interval, s.Index)
		}
	})
}

func TestLessErrorNeverWidensTheInterval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawForce(t, "a"), drawForce(t, "b")
		usual := indexOf(t, trial(right, a), trial(left, b)).Interval
		free := indexOf(t, trial(right, a, unsupported), trial(left, b, unsupported)).Interval
		if usual.Bounds == Bounded && free.Bounds == Bounded && usual.High-usual.Low > free.High-free.Low {
			t.Fatalf("supported %+v is wider than with the arm free %+v", usual, free)
		}
	})
}

func TestOrderOfTrialsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var trials []shoulder.Trial
		for i := range rapid.IntRange(1, 24).Draw(t, "n") {
			side := []shoulder.Side{right, left}[rapid.IntRange(0, 1).Draw(t, "side")]
			one := trial(side, drawForce(t, fmt.Sprint("force ", i)), at(shoulder.TrainedPositions[rapid.IntRange(0, 2).Draw(t, "position")]))
			trials = append(trials, one)
		}
		want := measured(on(0, trials...))
		shuffled := append([]shoulder.Trial{}, trials...)
		rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0)).Shuffle(len(shuffled), func(i, j int) {
			shuffled[i], shuffled[j] = shuffled[j], shuffled[i]
		})
		got := measured(on(0, shuffled...))
		equalNumbers := cmp.Comparer(func(a, b exact.Number) bool { return a.Cmp(b) == 0 })
		equalFloats := cmp.Comparer(func(a, b float64) bool { return a == b || a != a && b != b })
		if diff := cmp.Diff(want, got, equalNumbers, equalFloats); diff != "" {
			t.Fatal(diff)
		}
	})
}

func BenchmarkMeasureTenSessions(b *testing.B) {
	var sessions []shoulder.Session
	for n := range 10 {
		var trials []shoulder.Trial
		for _, r := range shoulder.Trained {
			for _, p := range shoulder.TrainedPositions {
				for range 3 {
					trials = append(trials, trial(right, fmt.Sprint(70+n), turning(r), at(p)), trial(left, "100", turning(r), at(p)))
				}
			}
		}
		sessions = append(sessions, on(14*n, trials...))
	}
	e, p := episode(sessions...), protocol.Default()
	b.ReportAllocs()
	for b.Loop() {
		Measure(e, p)
	}
}

// drawEpisode is up to so many sessions of one to three tests, at the same time,
// some days or up to ten years apart, with any force from nothing to 400 N.
func drawEpisode(t *rapid.T, most int) *shoulder.Episode {
	e, n := episode(), 0
	for range rapid.IntRange(1, most).Draw(t, "sessions") {
		n += rapid.SampledFrom([]int{0, 7, 14, 42, 3650}).Draw(t, "days")
		s := on(n)
		for range rapid.IntRange(1, 3).Draw(t, "tests") {
			position := at(rapid.SampledFrom(shoulder.TrainedPositions[:]).Draw(t, "position"))
			for _, side := range []shoulder.Side{right, left} {
				for range rapid.IntRange(0, 3).Draw(t, "trials") {
					s.Trials = append(s.Trials, trial(side, rapid.SampledFrom([]string{"0", "0.01", "10", "70", "100", "220", "400"}).Draw(t, "force"), position))
				}
			}
		}
		e.Sessions = append(e.Sessions, s)
	}
	return e
}

func TestEveryNumberIsOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { checkNumbers(t, Measure(drawEpisode(t, 6), protocol.Default())) })
}

// fatal is what a test and a property share.
type fatal interface {
	Fatalf(format string, args ...any)
}

func checkNumbers(t fatal, m *Measurements) {
	for i := range m.Scores {
		s := &m.Scores[i]
		if s.Trials > 1 && s.Value.Sign() > 0 {
			checkNumber(t, "variation", s.Variation)
		}
		checkNumber(t, "standard error", s.SEM())
	}
	for i := range m.Symmetries {
		s := &m.Symmetries[i]
		for _, x := range []float64{s.Interval.Low, s.Interval.High, s.Steady.Low, s.Steady.High, s.ProbabilityEven, s.ProbabilityGoodEnough} {
			checkNumber(t, "symmetry", x)
		}
	}
	for _, d := range m.Doubts {
		checkNumber(t, "fall", d.Fall)
		checkNumber(t, "factor", d.Factor)
	}
	for _, c := range m.Changes {
		checkNumber(t, "detectable change", c.Detectable)
	}
}

func checkNumber(t fatal, what string, x float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		t.Fatalf("%s = %v, want a number", what, x)
	}
}

func TestThreeHundredSessions(t *testing.T) {
	for name, days := range map[string]int{"at one time": 0, "a day apart": 1} {
		e := episode()
		for i := range 300 {
			e.Sessions = append(e.Sessions, six(i*days, fmt.Sprint(70+i%20), "100"))
		}
		m := Measure(e, protocol.Default())
		checkNumbers(t, m)
		if len(m.Scores) != 300*12 {
			t.Errorf("%s: %d scores, want 300 sessions of 12", name, len(m.Scores))
		}
		if h := HistoryOf(m.Scores, right, true, protocol.Default()); h.Sessions > longestHistory {
			t.Errorf("%s: held against %d sessions, want at most %d", name, h.Sessions, longestHistory)
		}
	}
}

// A decline of the comparison side is no slip of the pen: it stands although it is
// confirmed.
func TestConfirmedMeasurementsBlockNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEpisode(t, 5)
		for i := range e.Sessions {
			for k := range e.Sessions[i].Trials {
				e.Sessions[i].Trials[k].Confirmed = true
			}
		}
		for _, d := range Measure(e, protocol.Default()).Doubts {
			if d.Doubt != ComparisonDeclined {
				t.Fatalf("%v about confirmed measurements", d.Doubt)
			}
		}
	})
}

func TestOrderOfTrialsDoesNotMatterToDoubts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEpisode(t, 5)
		want := codesOf(Measure(e, protocol.Default()).Doubts)
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		for _, s := range e.Sessions {
			rng.Shuffle(len(s.Trials), func(i, j int) { s.Trials[i], s.Trials[j] = s.Trials[j], s.Trials[i] })
		}
		if diff := cmp.Diff(want, codesOf(Measure(e, protocol.Default()).Doubts)); diff != "" {
			t.Fatal(diff)
		}
	})
}

// codesOf is the doubts with their numbers, in order.
func codesOf(doubts []DoubtFound) (codes []string) {
	for _, d := range doubts {
		codes = append(codes, fmt.Sprint(d.Doubt, d.Session, d.Score.Value, d.Trials, d.Apart, d.ApartValue, d.Tests, d.Factor, d.Fall))
	}
	return codes
}
