package reliability

import (
	"math"
	"os"
	"testing"

	"github.com/go-json-experiment/json"
)

// The reference is what SciPy and pingouin make of generated data; see
// internal/measure/testdata/reference.py. pingouin rounds intervals to two
// places.
func TestAgreesWithPingouin(t *testing.T) {
	text, err := os.ReadFile("../measure/testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var reference struct {
		Reliability []struct {
			Rows                []([]float64)
			MSError             float64
			ICC11, ICC21, ICC31 [3]float64
			Variation           float64
		}
	}
	if err := json.Unmarshal(text, &reference, json.MatchCaseInsensitiveNames(true)); err != nil {
		t.Fatal(err)
	}
	if len(reference.Reliability) == 0 {
		t.Fatal("the reference is empty")
	}
	for _, c := range reference.Reliability {
		s, err := Analyse(c.Rows, 95)
		if err != nil {
			t.Fatal(err)
		}
		near := func(what string, got, want, tolerance float64) {
			if math.Abs(got-want) > tolerance {
				t.Errorf("%d subjects: %s = %v, want %v within %v", s.Subjects, what, got, want, tolerance)
			}
		}
		near("mean square of error", s.MSError, c.MSError, 1e-9)
		near("variation", s.Variation, c.Variation, 1e-9)
		for _, icc := range []struct {
			name string
			got  Estimate
			want [3]float64
		}{{"ICC(1,1)", s.ICC11, c.ICC11}, {"ICC(2,1)", s.ICC21, c.ICC21}, {"ICC(3,1)", s.ICC31, c.ICC31}} {
			near(icc.name, icc.got.Value, icc.want[0], 1e-9)
			near(icc.name+" low", icc.got.Low, icc.want[1], 0.0051)
			near(icc.name+" high", icc.got.High, icc.want[2], 0.0051)
		}
	}
}
