package measure

import (
	"os"
	"testing"

	"github.com/go-json-experiment/json"
)

// reference is what SciPy makes of generated data; see
// testdata/reference.py.
type reference struct {
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
	if len(r.Fieller) == 0 {
		t.Fatal("the reference is empty")
	}
	return r
}

func TestAgreesWithSciPy(t *testing.T) {
	const source = "SciPy"
	r := readReference(t)
	z := quantile(90)
	for _, c := range r.Fieller {
		got := Fieller(c.A, c.SA, c.B, c.SB, z)
		near(t, "Fieller low", got.Low, c.Low, 1e-9, source+", root search")
		near(t, "Fieller high", got.High, c.High, 1e-9, source+", root search")
		near(t, "probability", ProbabilityAtLeast(c.T, c.A, c.SA, c.B, c.SB), c.Probability, 1e-12, source)
	}
}
