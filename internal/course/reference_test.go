package course

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// reference is what NumPy and SciPy make of generated episodes; see
// testdata/reference.py.
type reference struct {
	Cases []struct {
		Tests        int
		Observations [][6]float64 // day, test, comparison, log, own, shared
		Index        []float64
		Spread       []float64
		Even         []float64
		AllEven      float64
		One          []float64
		Covariance   [][]float64
	}
	BothBelow []struct{ Z, Correlation, More float64 }
}

func readReference(t *testing.T) (r reference) {
	t.Helper()
	text, err := os.ReadFile("testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	if len(r.Cases) == 0 || len(r.BothBelow) == 0 {
		t.Fatal("the reference is empty")
	}
	return r
}

func TestAgreesWithNumPy(t *testing.T) {
	par := referenceParameters()
	for i, c := range readReference(t).Cases {
		var observations []Observation
		for _, o := range c.Observations {
			observations = append(observations, Observation{Day: int(o[0]), Test: int(o[1]), Comparison: o[2] == 1, Log: o[3], Own: o[4], Shared: o[5]})
		}
		s := seriesOf(c.Tests, observations)
		f := newFilter(&par, c.Tests, point{scale: 1, day: 1, shape: par.grid[1].shape})
		for day := range s.days {
			f.visit(s, day, s.newDay())
		}
		for a := range c.Tests {
			near(t, "index at one point of the grid", f.against(a, Present).mean, c.One[a], 1e-8)
			for b := range c.Tests {
				near(t, "covariance at one point of the grid", f.againstCovariance(a, b, Present), c.Covariance[a][b], 1e-8)
			}
		}
		// The reference leaves out no point of the grid, and SciPy's joint probability
		// has an error of its own.
		course := of(observations, c.Tests, everyTest(c.Tests), par)
		for a := range c.Tests {
			now := course.Tests[a].Now()
			near(t, "index", now.Index, c.Index[a], 0.5)
			near(t, "probability of evenness", now.Even, c.Even[a], 0.02)
		}
		near(t, "probability that all are even", course.AllEven(), c.AllEven, 0.02)
		if t.Failed() {
			t.Fatalf("case %d", i)
		}
	}
}

// referenceParameters are those of reference.py, whatever the protocol says.
func referenceParameters() parameters {
	return parameters{
		goodEnough: math.Log(0.75), even: math.Log(0.90), confidence: quantile(0.95),
		plateau: math.Log(0.90), plateauSpread: 0.12, testSpread: 0.04,
		comparisonDrift: 0.02, plateauDrift: 0.008, testDrift: 0.007, gapDrift: 0.02, bothSides: 0.25,
		horizon: 182,
		grid:    gridOf(0.35, [...]float64{0.3, 1}, [...]shape{{0, 0.02, 16}, {0.30, 0.25, 5}, {0.30, 0.25, 16}}),
	}
}

func TestBeyondBothAgreesWithSciPy(t *testing.T) {
	for _, c := range readReference(t).BothBelow {
		near(t, "both below", beyondBoth(c.Correlation, c.Z), c.More, 1e-4)
	}
}

func everyTest(n int) (tests []int) {
	for i := range n {
		tests = append(tests, i)
	}
	return tests
}
