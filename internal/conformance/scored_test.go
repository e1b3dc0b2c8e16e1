//go:build conformance || official

package conformance

import (
	"encoding/json"
	"os"
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/record"
)

// clinic is the protocol of an invented clinic that adds a score, because the default
// has none.
const clinic = `
id: clinic
version: "1"
outcomeMeasures:
  - id: arm-comfort
    codes: [{system: "https://clinic.example/codes", code: arm-comfort, display: Arm comfort}]
    title: {en: arm comfort score, de: Armkomfort-Wert}
    unit: "{points}"
    minimum: 0
    maximum: 100
    better: higher
    detectable: {comparison: ">=", value: 12, unit: "{points}", source: invented for this test}
    important: {comparison: ">=", value: 15, unit: "{points}", source: invented for this test}
    source: invented for this test
`

// scored is the answer to a scenario in which every session has a value of the clinic's
// score as well, 20 more each time.
func scored(t *testing.T) document {
	t.Helper()
	p, err := protocol.Load([]byte(clinic))
	if err != nil {
		t.Fatal(err)
	}
	body, err := os.ReadFile("../../testdata/scenarios/even-in-all-positions/input.json")
	if err != nil {
		t.Fatal(err)
	}
	var request map[string]any
	if err := json.Unmarshal(body, &request); err != nil {
		t.Fatal(err)
	}
	entries := request["entry"].([]any)
	times := map[string]bool{}
	for _, e := range entries {
		o := e.(map[string]any)["resource"].(map[string]any)
		if at, _ := o["effectiveDateTime"].(string); o["resourceType"] == "Observation" && !times[at] {
			times[at] = true
			request["entry"] = append(request["entry"].([]any), map[string]any{"resource": comfort(o["subject"], at, 20*len(times))})
		}
	}
	if body, err = json.Marshal(request); err != nil {
		t.Fatal(err)
	}
	return document{"clinics-score", answerUnder(t, p, "clinics-score", body, record.Collection)}
}

// comfort is a value of the clinic's score.
func comfort(subject any, at string, value int) map[string]any {
	return map[string]any{
		"resourceType": "Observation", "status": "final", "subject": subject, "effectiveDateTime": at,
		"code":          map[string]any{"coding": []any{map[string]any{"system": "https://clinic.example/codes", "code": "arm-comfort"}}},
		"valueQuantity": map[string]any{"value": value, "unit": "points", "system": "http://unitsofmeasure.org", "code": "{points}"},
	}
}
