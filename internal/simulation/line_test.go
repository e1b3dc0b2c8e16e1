package simulation

import (
	"math"
	"os"
	"testing"

	"github.com/go-json-experiment/json"
)

// The line that the model is compared with is the published one.
func TestTheilSen(t *testing.T) {
	x := []float64{1, 2, 3, 4, 10, 12, 18}
	y := []float64{9, 15, 19, 20, 45, 55, 78}
	got, ok := TheilSen(x, y, 93)
	if !ok {
		t.Fatal("no slope")
	}
	near := func(what string, got, want, within float64) {
		t.Helper()
		if math.Abs(got-want) > within {
			t.Errorf("%s = %v, want %v", what, got, want)
		}
	}
	// Sen 1968, as used by SciPy and R deming
	near("slope", got.Slope, 4, 1e-9)
	near("intercept", got.Intercept, 4, 1e-9)
	near("low", got.Low, 26.0/7, 1e-6)
	near("high", got.High, 35.0/8, 1e-6)

	got, _ = TheilSen([]float64{1, 2, 3, 4, 5}, []float64{1, 2, 3, 100, 5}, 95)
	near("slope with an outlier", got.Slope, 1, 0)
	near("intercept with an outlier", got.Intercept, 0, 0)
	near("low with an outlier", got.Low, -95, 0)
	near("high with an outlier", got.High, 97, 0)

	got, _ = TheilSen([]float64{0, 1, 2}, []float64{0, 1, 1}, 95)
	near("slope with a tie", got.Slope, 0.5, 0)
	near("intercept with a tie", got.Intercept, 0.5, 0)

	if _, ok := TheilSen([]float64{2, 2}, []float64{1, 5}, 95); ok {
		t.Error("two visits on one day have a slope, want none")
	}
}

// What SciPy makes of generated data: see internal/measure/testdata/reference.py.
func TestLineAgreesWithSciPy(t *testing.T) {
	text, err := os.ReadFile("../measure/testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var of struct {
		TheilSen []struct {
			X, Y                        []float64
			Slope, Intercept, Low, High float64
		}
	}
	if err := json.Unmarshal(text, &of, json.MatchCaseInsensitiveNames(true)); err != nil || len(of.TheilSen) == 0 {
		t.Fatalf("%d cases, %v", len(of.TheilSen), err)
	}
	for _, c := range of.TheilSen {
		got, ok := TheilSen(c.X, c.Y, 90)
		want := Slope{c.Slope, c.Intercept, c.Low, c.High}
		if !ok || math.Abs(got.Slope-want.Slope)+math.Abs(got.Intercept-want.Intercept)+math.Abs(got.Low-want.Low)+math.Abs(got.High-want.High) > 1e-8 {
			t.Errorf("%+v, want %+v", got, want)
		}
	}
}
