package reliability

import (
	"math"
	"os"
	"testing"

	"github.com/go-json-experiment/json"
)

// The reference is what pingouin and statsmodels make of generated data; see
// testdata/reference.py.
type references struct {
	TwoWay []struct {
		Rows                []([]float64)
		MSError, MSWithin   float64
		ICC11, ICC21, ICC31 [3]float64
	}
	Studies []struct {
		Scores                        [][5]any // subject, side, session, trial, score
		Agreement, Consistency, Trial float64
		MixedConsistency, MixedTrial  float64
	}
}

func readReferences(t *testing.T) (r references) {
	t.Helper()
	text, err := os.ReadFile("testdata/reference.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &r, json.MatchCaseInsensitiveNames(true)); err != nil {
		t.Fatal(err)
	}
	if len(r.TwoWay) == 0 || len(r.Studies) == 0 {
		t.Fatal("the reference is empty")
	}
	return r
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %v, want %v within %v", what, got, want, tolerance)
	}
}

// pingouin rounds intervals to two places.
func TestTwoWayAgreesWithPingouin(t *testing.T) {
	for _, c := range readReferences(t).TwoWay {
		s, err := AnalyseTwoWay(c.Rows, 95)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "mean square of error", s.MSError, c.MSError, 1e-9)
		near(t, "mean square within subjects", s.MSWithin, c.MSWithin, 1e-9)
		for _, icc := range []struct {
			name string
			got  Estimate
			want [3]float64
		}{{"ICC(1,1)", s.ICC11, c.ICC11}, {"ICC(2,1)", s.ICC21, c.ICC21}, {"ICC(3,1)", s.ICC31, c.ICC31}} {
			near(t, icc.name, icc.got.Value, icc.want[0], 1e-9)
			near(t, icc.name+" low", icc.got.Low, icc.want[1], 0.0051)
			near(t, icc.name+" high", icc.got.High, icc.want[2], 0.0051)
		}
	}
}

// The mean squares of statsmodels' analysis of variance give the same variances. Its
// mixed model by restricted maximum likelihood shares information between the parts and
// therefore differs by some per cent.
func TestStudyAgreesWithStatsmodels(t *testing.T) {
	for _, c := range readReferences(t).Studies {
		var scores []Score
		for _, row := range c.Scores {
			scores = append(scores, Score{
				Subject: row[0].(string), Side: row[1].(string), Session: row[2].(string), Trial: row[3].(string), Value: row[4].(float64),
			})
		}
		s, err := Analyse(scores)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "agreement", s.widest().variance, c.Agreement, 1e-9)
		near(t, "consistency", s.widest().Consistency.Value, percent(c.Consistency), 1e-6)
		near(t, "trial", s.trial, c.Trial, 1e-9)
		near(t, "consistency by the mixed model", s.widest().Consistency.Value/percent(c.MixedConsistency), 1, 0.02)
		near(t, "trial by the mixed model", s.TrialError/percent(c.MixedTrial), 1, 0.02)
	}
}
