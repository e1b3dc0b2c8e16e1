package assess

import (
	"testing"

	"pgregory.net/rapid"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// A worse course never puts the re-check off, unless a number that explains a doubt away
// is believed now.
func TestAWorseCourseIsNotMeasuredLater(t *testing.T) {
	worse := map[string]func(*rapid.T, *shoulder.Session) bool{
		"less force": lessForce, "more pain": morePain, "less range": lessRange, "all forces lower": lessOfAll,
	}
	for name, makeWorse := range worse {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				e := shouldertest.Draw(t)
				changed := clone(e)
				if s := latest(changed); s == nil || !makeWorse(t, s) {
					return
				}
				before, after := assessed(e), assessed(changed)
				if doubtIsGone(before.Readiness, after.Readiness) {
					return
				}
				if after.Plan.Recheck.To.After(before.Plan.Recheck.To) || after.Plan.Recheck.From.After(before.Plan.Recheck.From) {
					t.Fatalf("re-check moved from %v to %v", before.Plan.Recheck, after.Plan.Recheck)
				}
			})
		})
	}
}

// lessOfAll lowers every strength of the involved side by one share.
func lessOfAll(t *rapid.T, s *shoulder.Session) bool {
	percent := exact.Int(int64(rapid.IntRange(50, 99).Draw(t, "per cent left")))
	for i := range s.Trials {
		if x := &s.Trials[i]; x.Side == shoulder.Right {
			x.Value, _ = x.Value.Mul(percent).Quo(exact.Int(100))
		}
	}
	return len(s.Trials) > 0
}
