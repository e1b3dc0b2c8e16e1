package measure

import (
	"fmt"
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
		belt := indexOf(t, trial(right, a, by(shoulder.BeltStabilised)), trial(left, b, by(shoulder.BeltStabilised))).Interval
		if belt.High-belt.Low > usual.High-usual.Low {
			t.Fatalf("stabilised %+v is wider than usual %+v", belt, usual)
		}
	})
}

func TestOrderOfTrialsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var trials []shoulder.Trial
		for i := range rapid.IntRange(1, 24).Draw(t, "n") {
			side := []shoulder.Side{right, left}[rapid.IntRange(0, 1).Draw(t, "side")]
			one := trial(side, drawForce(t, fmt.Sprint("force ", i)), at(shoulder.Positions[rapid.IntRange(0, 2).Draw(t, "position")]))
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
		for _, r := range shoulder.Rotations {
			for _, p := range shoulder.Positions {
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
