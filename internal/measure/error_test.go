package measure

import (
	"math"
	"testing"

	"evenreach.example/internal/exact"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/shoulder"
)

func TestErrorOfAScore(t *testing.T) {
	belt := by(shoulder.BeltStabilised)
	tests := []struct {
		name   string
		trials []shoulder.Trial
		want   float64 // standard error in the unit of the score
		source string
	}{
		{"mean of three", thrice(right, "100"), 10, "by definition: 10 % is that of three trials"},
		{"mean of three, belt", thrice(right, "100", belt), 10, "by hand: 10 % of 100"},
		{"mean of three, arm free", thrice(right, "100", unsupported), 14, "by hand: 14 % of 100"},
		{"one trial", []shoulder.Trial{trial(right, "100")}, 12.247449, "by hand: 10 x sqrt(0.75 + 0.25 x 3/1)"},
		{"two trials", []shoulder.Trial{trial(right, "100"), trial(right, "100")}, 10.606602, "by hand: 10 x sqrt(0.75 + 0.25 x 3/2)"},
		{"six trials", append(thrice(right, "100"), thrice(right, "100")...), 9.354143, "by hand: 10 x sqrt(0.75 + 0.25 x 3/6)"},
		{"where the floor begins", thrice(right, "50"), 5, "by hand: 10 % of 50 N is the floor of 5 N"},
		{"under the floor", thrice(right, "20"), 5, "by hand: 2 N is less than 5 N"},
		{"zero", thrice(right, "0"), 5, "by definition"},
		{"torque over the floor", thrice(right, "25", inTorque), 2.5, "by hand: 10 % of 25 N.m"},
		{"torque under the floor", thrice(right, "5", inTorque), 1.25, "by hand: 0.5 is less than 1.25 N.m"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := Scores(episode(on(0, tt.trials...)), protocol.Default())[0]
			near(t, "standard error", s.SEM(), tt.want, 1e-6, tt.source)
		})
	}
}

func TestPainWidensTheErrorButNotTheSteadyOne(t *testing.T) {
	s := on(0, thrice(right, "100")...)
	s.Pains = []shoulder.Pain{{Context: shoulder.PainDuringResistedTest, Score: exact.Int(4)}}
	score := Scores(episode(s), protocol.Default())[0]
	near(t, "shown", score.Error.At(100), 14, 1e-9, "by definition: a painful test counts as unstabilised")
	near(t, "decides", score.Error.SteadyAt(100), 10, 1e-9, "by definition: without the widening for pain")
}

// The published error is that of the mean of three; a clinic that averages
// another number says so.
func TestTrialFactorHoldsForAnyNumber(t *testing.T) {
	p, err := protocol.Load([]byte(`{"id":"clinic","trials":{"published":{"value":2,"source":"x"},"share":{"value":50,"source":"x"}}}`))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "two of two", trialFactor(2, p), 1, 1e-12, "by definition")
	near(t, "one of two", trialFactor(1, p), math.Sqrt(1.5), 1e-12, "by hand: 0.5 + 0.5 x 2/1")
	near(t, "none counts as one", trialFactor(0, p), math.Sqrt(1.5), 1e-12, "by definition")
}

func TestIntervalOfAThreeTrialIndex(t *testing.T) {
	m := measured(on(0, append(thrice(right, "50"), thrice(left, "50")...)...))
	near(t, "low", m.Symmetries[0].Interval.Low, 79.0344, 1e-3, "by hand: (1 - sqrt(1 - (1 - g)^2)) / (1 - g), g = 1.644854^2 x 0.01")
	near(t, "high", m.Symmetries[0].Interval.High, 126.5271, 1e-3, "by hand: (1 + sqrt(1 - (1 - g)^2)) / (1 - g)")
}

// The day's part is that of the published error and stays, however many trials there
// are; both parts together are the whole error.
func TestPartsOfTheError(t *testing.T) {
	tests := []struct {
		name        string
		trials      []shoulder.Trial
		reference   float64
		own, shared float64
		source      string
	}{
		{"mean of three", thrice(right, "80"), 100, 0.0707107, 0.0707107, "by hand: 10 % in two halves of the variance"},
		{"one trial", []shoulder.Trial{trial(right, "80")}, 100, 0.1, 0.0707107, "by hand: 12.247 % squared less 7.071 % squared"},
		{"under the floor", thrice(right, "20"), 20, 0.1767767, 0.1767767, "by hand: 5 of 20 N in two halves of the variance"},
		{"nothing to compare with", thrice(right, "0"), 0, 1, 0, "by definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			own, shared := Scores(episode(on(0, tt.trials...)), protocol.Default())[0].Parts(tt.reference, protocol.Default())
			near(t, "own", own, tt.own, 1e-6, tt.source)
			near(t, "shared", shared, tt.shared, 1e-6, tt.source)
		})
	}
}
