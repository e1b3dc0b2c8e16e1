package assess

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
	"evenreach.example/internal/shoulder/shouldertest"
)

// stable is an episode in which nothing changes but by error: a part of it is the day's, the
// same for all tests of a side, as the protocol has it.
func stable(rng *rand.Rand, level float64, visits int, p *protocol.Protocol) *shoulder.Episode {
	const percent = 10.0
	day := math.Sqrt(p.Error.Day.Float()/100) * percent / 100
	own := math.Sqrt(1-p.Error.Day.Float()/100) * percent / 100
	all := make([]shouldertest.Visit, visits)
	for i := range all {
		tests := func(strength float64) (er, ir [3]string) {
			today := day * rng.NormFloat64()
			for k := range 3 {
				er[k] = strconv.FormatFloat(strength*math.Exp(today+own*rng.NormFloat64()), 'f', 1, 64)
				ir[k] = strconv.FormatFloat(strength*math.Exp(today+own*rng.NormFloat64()), 'f', 1, 64)
			}
			return er, ir
		}
		v := shouldertest.Visit{Day: 21 * i}
		v.ER, v.IR = tests(level)
		v.LeftER, v.LeftIR = tests(100)
		all[i] = v
	}
	return shouldertest.Episode(all...)
}

// A shoulder that stays as weak as it is must not be told that it is clearly better, however
// much weak shoulders are expected to recover.
func TestAStableShoulderIsNotCalledBetter(t *testing.T) {
	const patients = 150
	p := protocol.Default()
	for _, level := range []float64{35, 50, 65, 90} {
		for _, visits := range []int{2, 6} {
			rng := rand.New(rand.NewPCG(uint64(level), uint64(visits)))
			better := 0
			for range patients {
				a := Assess(stable(rng, level, visits, p), p, shouldertest.Day(21*visits))
				if called(a, measure.Improved) {
					better++
				}
			}
			// Six tests against two visits, each at most 2.5 % by the detectable change
			// alone; they go together, and the model has to agree.
			if better > patients*5/100 {
				t.Errorf("%v %% at %d visits: %d of %d called clearly better, want at most 5 %%", level, visits, better, patients)
			}
		}
	}
}

func called(a *Assessment, d measure.Direction) bool {
	for i := range a.Measurements.Changes {
		k := &a.Measurements.Changes[i]
		if k.Subject == measure.StrengthChange && k.Side == shoulder.Right && k.Direction == d {
			return true
		}
	}
	return false
}
