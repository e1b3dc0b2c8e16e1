package record

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/protocol"
)

// released are the answers of the last release, by the scenario that they answer. .ci/run release
// renews them.
func released(t *testing.T) map[string]string {
	t.Helper()
	files, err := filepath.Glob("../../.ci/released/answers/*.json")
	if err != nil || len(files) < 2 {
		t.Fatalf("%d answers of the last release (%v), want some", len(files), err)
	}
	all := map[string]string{}
	for _, file := range files {
		all[strings.TrimSuffix(filepath.Base(file), ".json")] = file
	}
	return all
}

func readBundle(t *testing.T, file string) *fhir.Bundle {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	resource, err := fhirjson.DecodeInput(text, fhir.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	return resource.(*fhir.Bundle)
}

// stands reports whether a stored resource still counts.
func stands(content map[string]any) bool {
	switch content["status"] {
	case "entered-in-error", "revoked", "cancelled", "completed":
		return false
	}
	return content["lifecycleStatus"] != "cancelled" && content["lifecycleStatus"] != "completed"
}

// questions counts the results that stand, by the question that they answer: the first two parts of
// an identifier.
func (f *filing) questions() map[string]int {
	all := map[string]int{}
	for at, stored := range f.files {
		if typeName, _, _ := strings.Cut(at, "/"); typeName == "Device" || typeName == "Provenance" || !stands(stored.content) {
			continue
		}
		for _, id := range list(stored.content["identifier"]) {
			id := id.(map[string]any)
			if parts := strings.Split(id["value"].(string), "-"); id["system"] == fhir.SystemResult && len(parts) > 2 {
				all[parts[0]+"-"+parts[1]]++
			}
		}
	}
	return all
}

// A record that holds what the last release said, and is assessed anew by this one, finds every
// question of then answered once, under an identifier that begins as then: nothing stands twice, and what
// is said otherwise now is updated, or withdrawn, in its place. All that was stored is still read.
func TestUpgradeFindsWhatTheLastReleaseStored(t *testing.T) {
	for name, file := range released(t) {
		for _, o := range []Output{Transaction, LivingTransaction} {
			t.Run(name+"/"+o.String(), func(t *testing.T) {
				s := &sent{bundle: readBundle(t, filepath.Join("../../testdata/scenarios", name, "input.json"))}
				f := newFiling(t)
				if p := f.post(readBundle(t, file)); p.created == 0 {
					t.Fatal("nothing was stored")
				}
				before := f.questions()
				_, reading := f.into(s).assessed(t, protocol.Default())
				for _, i := range reading.Issues {
					if i.Kind == fault.CodeUnknown || i.Kind == fault.UnknownElement {
						t.Errorf("%s: %s: %s", i.Path, i.Kind, i.Detail)
					}
				}
				p := f.settle(s, o)
				after := f.questions()
				for question, n := range before {
					if n != 1 || after[question] > 1 {
						t.Errorf("question %s was answered %d times and is %d times now, want once at most", question, n, after[question])
					}
				}
				kept := 0
				for question := range after {
					kept += before[question]
				}
				if kept < len(before)*3/4 {
					t.Errorf("of %d questions %d are answered still: the others have other identifiers now", len(before), kept)
				}
				t.Logf("%d questions, %d kept; created %d, found %d, updated %d", len(before), kept, p.created, p.found, p.updated)
			})
		}
	}
}
