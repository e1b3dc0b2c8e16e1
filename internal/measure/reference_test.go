package measure

import (
	"os"
	"testing"

	"github.com/go-json-experiment/json"
)

// reference is what SciPy makes of generated data; see
// testdata/reference.py.
type reference struct {
	TheilSen []struct {
		X, Y                        []float64
		Slope, Intercept, Low, High float64
	}
	Fieller []struct {
		A, SA, B, SB, Low, High, T, Probability float64
	}
}

func readReference(t *testing.T) reference {
	t.Helper()
	text, err := os.ReadFile("testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var r reference
	if err := json.Unmarshal(text, &r, json.MatchCaseInsensitiveNames(true)); err != nil {
		t.Fatal(err)
	}
	if len(r.TheilSen) == 0 || len(r.Fieller) == 0 {
		t.Fatal("the reference is empty")
	}
	return r
}

func TestAgreesWithSciPy(t *testing.T) {
	const source = "SciPy"
	r := readReference(t)
	for _, c := range r.TheilSen {
		got, ok := TheilSen(c.X, c.Y, 90)
		if !ok {
			t.Errorf("no slope of %v", c.X)
			continue
		}
		near(t, "slope", got.Slope, c.Slope, 1e-9, source)
		near(t, "intercept", got.Intercept, c.Intercept, 1e-9, source)
		near(t, "low", got.Low, c.Low, 1e-9, source)
		near(t, "high", got.High, c.High, 1e-9, source)
	}
	z := quantile(90)
	for _, c := range r.Fieller {
		got := Fieller(c.A, c.SA, c.B, c.SB, z)
		near(t, "Fieller low", got.Low, c.Low, 1e-9, source+", root search")
		near(t, "Fieller high", got.High, c.High, 1e-9, source+", root search")
		near(t, "probability", ProbabilityAtLeast(c.T, c.A, c.SA, c.B, c.SB), c.Probability, 1e-12, source)
	}
}
