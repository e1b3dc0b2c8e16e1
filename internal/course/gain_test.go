package course

import (
	"math"
	"math/rand/v2"
	"testing"

	"evenreach.example/internal/protocol"
)

// What a measurement settles, another way: how much of the variance of each index at
// the next visit it takes away is told by the dense posterior with it and without it,
// and the mean of p (1 - p) after it is a sum over what it may show.
func TestGainIsTheExpectedFallOfUncertainty(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for round := range 20 {
		tests := 1 + rng.IntN(4)
		par := defaultParameters()
		at := par.grid[rng.IntN(len(par.grid))]
		par.grid = []point{at}
		observations := complete(rng, tests)
		c := of(observations, tests, everyTest(tests), par)

		s := seriesOf(tests, observations)
		last := s.days[len(s.days)-1]
		wanted := make([]quantity, tests)
		for test := range tests {
			wanted[test] = indexAt(test, float64(last-s.days[0])/7+par.next)
		}
		mean, before, _ := denseOf(observations, wanted, &par, at)
		for test := range tests {
			more := append([]Observation{}, observations...)
			for _, o := range observations[len(observations)-2*tests:] {
				if o.Test == test {
					o.Day = last + int(7*par.next)
					more = append(more, o)
				}
			}
			_, after, _ := denseOf(more, wanted, &par, at)
			want := 0.0
			for other := range tests {
				for _, threshold := range []float64{par.goodEnough, par.even} {
					spread := math.Sqrt(before.At(other, other))
					taken := 1 - after.At(other, other)/before.At(other, other)
					want += expectedFall((mean.AtVec(other)-threshold)/spread, taken)
				}
			}
			near(t, "gain", c.Tests[test].Gain, want, 2e-4)
		}
		if t.Failed() {
			t.Fatalf("round %d, %d tests", round, tests)
		}
	}
}

// complete is an episode in which each session has all tests of both sides.
func complete(rng *rand.Rand, tests int) (observations []Observation) {
	day := 0
	for range 1 + rng.IntN(4) {
		for test := range tests {
			for _, comparison := range []bool{true, false} {
				observations = append(observations, Observation{
					Day: day, Test: test, Comparison: comparison, Log: 4.5 + 0.1*rng.NormFloat64(),
					Own: 0.03 + 0.1*rng.Float64(), Shared: 0.1 * rng.Float64(),
				})
			}
		}
		day += 7 * (1 + rng.IntN(5))
	}
	return observations
}

// expectedFall is by how much the mean of p (1 - p) falls if a measurement takes away a
// share of the variance of a quantity that is z standard deviations above a threshold.
func expectedFall(z, taken float64) float64 {
	p := cumulative(z)
	left := 0.0
	const step = 0.001
	for x := -8.0; x < 8; x += step {
		q := cumulative((z + math.Sqrt(taken)*x) / math.Sqrt(1-taken))
		left += q * (1 - q) * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * step
	}
	return p*(1-p) - left
}

// The test of which least is known tells most.
func TestTheLeastKnownTestIsMeasuredNext(t *testing.T) {
	var observations []Observation
	for visit := range 4 {
		for test := range 3 {
			if test == 1 && visit > 0 {
				continue
			}
			observations = append(observations,
				Observation{Day: 14 * visit, Test: test, Comparison: true, Log: math.Log(100), Own: 0.08, Shared: 0.05},
				Observation{Day: 14 * visit, Test: test, Log: math.Log(90), Own: 0.08, Shared: 0.05})
		}
	}
	c := Of(observations, 3, everyTest(3), protocol.Default())
	if c.Tests[1].Gain <= c.Tests[0].Gain || c.Tests[1].Gain <= c.Tests[2].Gain {
		t.Errorf("gains %.4f, %.4f, %.4f: want most of the second", c.Tests[0].Gain, c.Tests[1].Gain, c.Tests[2].Gain)
	}
}

// What is settled needs no measurement: tests that differ only in their index, far below
// both thresholds and close to one of them.
func TestWhatIsCloseToAThresholdIsMeasuredFirst(t *testing.T) {
	var observations []Observation
	indices := []float64{45, 75, 60}
	for visit := range 3 {
		for test, index := range indices {
			observations = append(observations,
				Observation{Day: 14 * visit, Test: test, Comparison: true, Log: math.Log(100), Own: 0.05, Shared: 0.03},
				Observation{Day: 14 * visit, Test: test, Log: math.Log(index), Own: 0.05, Shared: 0.03})
		}
	}
	c := Of(observations, 3, everyTest(3), protocol.Default())
	if c.Tests[1].Gain <= c.Tests[0].Gain || c.Tests[1].Gain <= c.Tests[2].Gain {
		t.Errorf("gains %.4f, %.4f, %.4f: want most of the second", c.Tests[0].Gain, c.Tests[1].Gain, c.Tests[2].Gain)
	}
}
