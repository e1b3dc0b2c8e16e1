package assess

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

func assessed(e *shoulder.Episode) *Assessment {
	return Assess(e, protocol.Default(), e.Sessions[len(e.Sessions)-1].When)
}

// rank orders the statuses by how much they open. Not knowing and being limited are
// told apart by what to do about them, not by rank.
func rank(o readiness.Overall) int {
	switch o {
	case readiness.NotCleared:
		return 0
	case readiness.ExamineFirst:
		return 1
	case readiness.Strengthening:
		return 3
	case readiness.ReadyForFunctional:
		return 4
	}
	return 2
}

// opens fails if anything stands higher after than before.
func opens(t *rapid.T, before, after *readiness.Readiness) {
	if rank(after.Overall) > rank(before.Overall) {
		t.Fatalf("overall rose from %v to %v", before.Overall, after.Overall)
	}
	for i := range after.Trained() {
		if a, b := after.Motions[i].Step, before.Motions[i].Step; a > b {
			t.Fatalf("%v rose from %v to %v", after.Motions[i].Motion, b, a)
		}
	}
}

// doubtIsGone reports whether a doubt that stood no longer does. A number that
// explains a doubt away may open what the doubt held: it is believed now.
func doubtIsGone(before, after *readiness.Readiness) bool {
	return slices.ContainsFunc(before.Doubts, func(was *measure.DoubtFound) bool {
		return !slices.ContainsFunc(after.Doubts, func(is *measure.DoubtFound) bool {
			return is.Doubt == was.Doubt && is.Session == was.Session
		})
	})
}

// testOf is what makes one test of one side.
type testOf struct {
	motion   shoulder.Motion
	position shoulder.ArmPosition
	side     shoulder.Side
}

func testOfTrial(t *shoulder.Trial) testOf { return testOf{t.Motion, t.Position, t.Side} }

// drawTrial draws a trial of a side, or of either, in a session; nil without any.
func drawTrial(t *rapid.T, s *shoulder.Session, of func(*shoulder.Trial) bool) *shoulder.Trial {
	var trials []*shoulder.Trial
	for i := range s.Trials {
		if of(&s.Trials[i]) {
			trials = append(trials, &s.Trials[i])
		}
	}
	if len(trials) == 0 {
		return nil
	}
	return rapid.SampledFrom(trials).Draw(t, "trial")
}

// lessForce lowers the involved side's trials of one test by one factor, to nothing
// at most.
func lessForce(t *rapid.T, s *shoulder.Session) bool {
	drawn := drawTrial(t, s, func(x *shoulder.Trial) bool { return x.Side == shoulder.Right })
	if drawn == nil {
		return false
	}
	test, percent := testOfTrial(drawn), exact.Int(int64(rapid.IntRange(0, 99).Draw(t, "per cent left")))
	for i := range s.Trials {
		if x := &s.Trials[i]; testOfTrial(x) == test {
			x.Value, _ = x.Value.Mul(percent).Quo(exact.Int(100))
		}
	}
	return true
}

// morePain raises one score, to the worst imaginable at most.
func morePain(t *rapid.T, s *shoulder.Session) bool {
	if len(s.Pains) == 0 {
		return false
	}
	p := &s.Pains[rapid.IntRange(0, len(s.Pains)-1).Draw(t, "which pain")]
	p.Score = exact.Int(int64(rapid.IntRange(int(p.Score.Float64()), 10).Draw(t, "more pain")))
	return true
}

// lessRange lowers one active range.
func lessRange(t *rapid.T, s *shoulder.Session) bool {
	var active []*shoulder.Range
	for i := range s.Ranges {
		if s.Ranges[i].Active {
			active = append(active, &s.Ranges[i])
		}
	}
	if len(active) == 0 {
		return false
	}
	r := rapid.SampledFrom(active).Draw(t, "range")
	r.Degrees = exact.Int(int64(rapid.IntRange(0, int(r.Degrees.Float64())).Draw(t, "less range")))
	return true
}

// A worse number never opens anything.
func TestWorseNeverOpens(t *testing.T) {
	worse := map[string]func(*rapid.T, *shoulder.Session) bool{"less force": lessForce, "more pain": morePain, "less range": lessRange}
	for name, makeWorse := range worse {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				e := shouldertest.Draw(t)
				changed := clone(e)
				if s := latest(changed); s == nil || !makeWorse(t, s) {
					return
				}
				before, after := assessed(e).Readiness, assessed(changed).Readiness
				if !doubtIsGone(before, after) {
					opens(t, before, after)
				}
			})
		})
	}
}

// drawNearlyReady draws a course near the line between ready and not.
func drawNearlyReady(t *rapid.T) *shoulder.Episode {
	visits := make([]shouldertest.Visit, rapid.IntRange(2, 5).Draw(t, "visits"))
	for i := range visits {
		visits[i] = shouldertest.Visit{Day: 14 * i, Flexion: "170", Abduction: "170", Pain: "1", RestPain: "1", WorstPain: "3"}
		for k := range 3 {
			visits[i].ER[k] = fmt.Sprint(rapid.IntRange(88, 130).Draw(t, "external"))
			visits[i].IR[k] = fmt.Sprint(rapid.IntRange(88, 130).Draw(t, "internal"))
		}
	}
	return shouldertest.Episode(visits...)
}

// Tests of one day share how good the day is, so that one low value among high ones
// speaks for the others. Lower or missing strengths of the latest session, one of them
// or several, must not open anything by that.
func TestLowerStrengthsNeverOpen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawNearlyReady(t)
		changed := clone(e)
		for range rapid.IntRange(1, 3).Draw(t, "how many") {
			if rapid.Bool().Draw(t, "missing") {
				takeOut(t, latest(changed))
			} else {
				lessForce(t, latest(changed))
			}
		}
		if changed.Latest() == e.Latest() {
			before, after := assessed(e).Readiness, assessed(changed).Readiness
			if !doubtIsGone(before, after) {
				opens(t, before, after)
			}
		}
	})
}

// The probability that opens functional work knows nothing of the latest session: its
// strengths, lower, higher or missing, of either side, leave it as it is.
func TestTheLatestSessionHasNoPartInTheProbability(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawNearlyReady(t)
		changed := clone(e)
		for i := range latest(changed).Trials {
			latest(changed).Trials[i].Value = exact.Int(int64(rapid.IntRange(1, 400).Draw(t, "newtons")))
		}
		if rapid.Bool().Draw(t, "missing") {
			takeOut(t, latest(changed))
		}
		before, after := assessed(e).Readiness.Function.AllEven.Value, assessed(changed).Readiness.Function.AllEven.Value
		if before == nil || after == nil || before.Cmp(*after) != 0 {
			t.Fatalf("%v %% before, %v %% after", before, after)
		}
	})
}

// A red flag more never opens anything, and closes functional work.
func TestAFlagNeverOpens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := shouldertest.Draw(t)
		a := assessed(e)
		code := rapid.SampledFrom(redflag.Codes[:]).Draw(t, "flag")
		flags := append([]redflag.Flag{{Code: code, Now: redflag.Measured{When: a.AsOf}}}, a.Readiness.Flags...)
		after := readiness.Judge(e, a.Measurements, a.Course, flags, a.Protocol, a.AsOf)
		opens(t, a.Readiness, after)
		if rank(after.Overall) > rank(readiness.ExamineFirst) {
			t.Fatalf("overall = %v under a red flag", after.Overall)
		}
	})
}

// takeOut removes one value from a session: all trials of one test and side, one
// range, one pain score, one grade or one note of a steady arm.
func takeOut(t *rapid.T, s *shoulder.Session) {
	switch rapid.SampledFrom([]string{"test", "range", "pain", "grade", "steadiness"}).Draw(t, "take out") {
	case "test":
		if drawn := drawTrial(t, s, func(*shoulder.Trial) bool { return true }); drawn != nil {
			test := testOfTrial(drawn)
			s.Trials = slices.DeleteFunc(s.Trials, func(x shoulder.Trial) bool { return testOfTrial(&x) == test })
		}
	case "range":
		s.Ranges = without(t, s.Ranges)
	case "pain":
		s.Pains = without(t, s.Pains)
	case "grade":
		s.Grades = without(t, s.Grades)
	case "steadiness":
		s.Steady = without(t, s.Steady)
	}
}

// without removes one element, if there is one.
func without[T any](t *rapid.T, all []T) []T {
	if len(all) == 0 {
		return all
	}
	i := rapid.IntRange(0, len(all)-1).Draw(t, "which")
	return slices.Delete(all, i, i+1)
}

// What was left out never makes a shoulder ready. Without the whole latest session
// the answer is that of the session before, as it should be.
func TestLessIsNeverReady(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := shouldertest.Draw(t)
		changed := clone(e)
		if latest(changed) == nil {
			return
		}
		takeOut(t, latest(changed))
		if changed.Latest() != e.Latest() {
			return
		}
		before, after := assessed(e).Readiness, assessed(changed).Readiness
		if after.Overall == readiness.ReadyForFunctional && before.Overall != readiness.ReadyForFunctional {
			t.Fatalf("overall rose from %v to %v", before.Overall, after.Overall)
		}
		for i := range after.Trained() {
			if after.Motions[i].Step == readiness.StepFunctional && before.Motions[i].Step != readiness.StepFunctional {
				t.Fatalf("%v rose from %v to %v", after.Motions[i].Motion, before.Motions[i].Step, after.Motions[i].Step)
			}
		}
	})
}
