package redflag

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

// drawEpisode is up to six visits at the same time, some days or up to ten years
// apart, with any force, range and pain.
func drawEpisode(t *rapid.T) *shoulder.Episode {
	e, n := episode(), 0
	for range rapid.IntRange(1, 6).Draw(t, "visits") {
		n += rapid.SampledFrom([]int{0, 7, 14, 42, 3650}).Draw(t, "days")
		s := visit(n)
		drawTrials(t, &s)
		for _, m := range elevations {
			reach(m, right, true, rapid.SampledFrom([]string{"0", "80", "130", "170"}).Draw(t, "active"))(&s)
			reach(m, right, false, rapid.SampledFrom([]string{"90", "150", "175"}).Draw(t, "passive"))(&s)
		}
		for _, c := range []shoulder.PainContext{rest, test, worst} {
			pain(c, fmt.Sprint(rapid.IntRange(0, 10).Draw(t, "pain")))(&s)
		}
		e.Sessions = append(e.Sessions, s)
	}
	if rapid.Bool().Draw(t, "repaired") {
		e.Repairs = []shoulder.Repair{{Side: right, Date: at(-rapid.IntRange(0, 200).Draw(t, "days before"), 0)}}
	}
	return e
}

func drawTrials(t *rapid.T, s *shoulder.Session) {
	forces := []string{"0", "5", "12", "40", "70", "100", "140"}
	for range rapid.IntRange(1, 4).Draw(t, "tests") {
		r, p := rapid.SampledFrom(shoulder.Trained[:]).Draw(t, "rotation"), rapid.SampledFrom(shoulder.TrainedPositions[:]).Draw(t, "position")
		for _, side := range []shoulder.Side{right, left} {
			force := rapid.SampledFrom(forces).Draw(t, "force")
			one(side, r, p, force, force, force)(s)
		}
	}
}

// lost is the first code that was among the flags before and is no more.
func lost(before, after []Flag) (Code, bool) {
	for _, f := range before {
		gone := true
		for _, g := range after {
			gone = gone && g.Code != f.Code
		}
		if gone {
			return f.Code, true
		}
	}
	return 0, false
}

func TestMorePainNeverRemovesAFlag(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEpisode(t)
		before := found(e)
		pains := e.Sessions[len(e.Sessions)-1].Pains
		x := &pains[rapid.IntRange(0, len(pains)-1).Draw(t, "which")]
		more := rapid.IntRange(0, 10-int(x.Score.Float64())).Draw(t, "more")
		x.Score = x.Score.Add(exact.Int(int64(more)))
		if code, gone := lost(before, found(e)); gone {
			t.Fatalf("%v is gone with %d more pain %v", code, more, x.Context)
		}
	})
}

// The flags of an earlier visit are found in what was measured once, as if nothing had been
// measured since.
func TestFlagsOfAnEarlierVisitNeedNoNewMeasuring(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, p := drawEpisode(t), protocol.Default()
		m, last := measure.Measure(e, p), e.Sessions[len(e.Sessions)-1].When
		session := rapid.IntRange(0, len(e.Sessions)-1).Draw(t, "session")
		earlier := *e
		earlier.Sessions = e.Sessions[:session+1]
		want := Find(&earlier, measure.Measure(&earlier, p), p, last)
		if got := Find(&earlier, m.UpTo(session), p, last); !reflect.DeepEqual(got, want) {
			t.Fatalf("%+v, want %+v", got, want)
		}
	})
}

// A session that then reads as if in another unit asks for the unit first. One that no
// longer reads as if the sides were exchanged is believed again, and may show strength
// regained.
func TestLessForceNeverRemovesAFlag(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, p := drawEpisode(t), protocol.Default()
		before := found(e)
		if anyDoubt(measure.Measure(e, p).Doubts, measure.SidesMayBeSwapped) {
			return
		}
		lowerOneTest(t, e.Sessions[len(e.Sessions)-1].Trials)
		m := measure.Measure(e, p)
		if anyDoubt(m.Doubts, measure.UnitMayBeWrong) {
			return
		}
		if code, gone := lost(before, Find(e, m, p, e.Sessions[len(e.Sessions)-1].When)); gone {
			t.Fatalf("%v is gone with less force", code)
		}
	})
}

// lowerOneTest weakens every trial of one of the involved side's tests.
func lowerOneTest(t *rapid.T, trials []shoulder.Trial) {
	like := trials[0]
	per := exact.Int(int64(rapid.IntRange(0, 100).Draw(t, "per cent left")))
	for i := range trials {
		x := &trials[i]
		if x.Side == right && x.Motion == like.Motion && x.Position == like.Position {
			x.Value, _ = x.Value.Mul(per).Quo(exact.Int(100))
		}
	}
}

func anyDoubt(doubts []measure.DoubtFound, which measure.Doubt) bool {
	for i := range doubts {
		if doubts[i].Doubt == which {
			return true
		}
	}
	return false
}

func TestOrderWithinAVisitDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEpisode(t)
		want := shown(found(e))
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		for _, s := range e.Sessions {
			rng.Shuffle(len(s.Trials), func(i, j int) { s.Trials[i], s.Trials[j] = s.Trials[j], s.Trials[i] })
			rng.Shuffle(len(s.Ranges), func(i, j int) { s.Ranges[i], s.Ranges[j] = s.Ranges[j], s.Ranges[i] })
			rng.Shuffle(len(s.Pains), func(i, j int) { s.Pains[i], s.Pains[j] = s.Pains[j], s.Pains[i] })
		}
		if got := shown(found(e)); got != want {
			t.Fatalf("%s\nin another order %s", want, got)
		}
	})
}

// shown is the flags with the numbers that show them.
func shown(flags []Flag) (text string) {
	for _, f := range flags {
		text += fmt.Sprintln(f.Code, f.Motion, f.Position, f.Movement, f.Context, f.Now, f.Then, f.Tests)
	}
	return text
}

func TestAnExaminationNowEndsEveryFlag(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEpisode(t)
		now := e.Sessions[len(e.Sessions)-1].When
		before := len(found(e))
		e.Examinations = []shoulder.Statement{{When: now, Cleared: true}}
		if after := found(e); Hold(after) || len(after) != before {
			t.Fatalf("%d flags of %d after an examination, want them all, and none to hold", len(after), before)
		}
	})
}

func TestThreeHundredVisits(t *testing.T) {
	for name, days := range map[string]int{"at one time": 0, "a day apart": 1} {
		e := episode()
		for i := range 300 {
			e.Sessions = append(e.Sessions, visit(i*days, both("80/100"), active("170"), pain(test, "2")))
		}
		if flags := found(e); len(flags) != 0 {
			t.Errorf("%s: %q, want none: nothing changes", name, codes(flags))
		}
		e.Sessions = append(e.Sessions, visit(300*days, both("40/100"), active("130"), pain(test, "6")))
		if got := codes(found(e)); got != "sudden-strength-loss range-loss pain-surge" {
			t.Errorf("%s: %q, want loss of strength and range, and pain", name, got)
		}
	}
}
