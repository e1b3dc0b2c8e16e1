package conformance

import (
	"encoding/json"
	"os"
	"testing"

	"evenreach.example/internal/record"
)

// measured is an invented record with an Observation of every measured profile,
// each in a form that the scenarios do not have.
func measured(t *testing.T) document {
	t.Helper()
	body, err := os.ReadFile("testdata/measured.json")
	if err != nil {
		t.Fatal(err)
	}
	return document{"measured", body}
}

// What the measured profiles describe is read without a warning about it.
func TestMeasuredProfilesAreWhatIsRead(t *testing.T) {
	d := measured(t)
	var outcome struct {
		Issue []struct {
			Severity   string
			Details    struct{ Text string }
			Expression []string
		}
	}
	if err := json.Unmarshal(answer(t, d.name, d.body, record.Check), &outcome); err != nil {
		t.Fatal(err)
	}
	understood := 0
	for _, i := range outcome.Issue {
		switch {
		case i.Severity == "information" && len(i.Expression) == 1:
			understood++
		case len(i.Expression) > 0:
			t.Errorf("%v: %s", i.Expression, i.Details.Text)
		}
	}
	if understood != 12 {
		t.Errorf("%d Observations were understood, want 12", understood)
	}
}
