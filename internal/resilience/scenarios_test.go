//go:build resilience

package resilience

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/service"
	"evenreach.example/internal/wording"
)

// scenario is a request with the answer that the program must give to it.
type scenario struct {
	name          string
	input, answer []byte
}

// scenarios are all there are, answered within this process, the shortest
// answers first.
func scenarios(t *testing.T) (all []scenario) {
	t.Helper()
	files, err := filepath.Glob("../../testdata/scenarios/*/input.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no scenarios found: %v", err)
	}
	for _, file := range files {
		input, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, scenario{filepath.Base(filepath.Dir(file)), input, answer(t, input)})
	}
	slices.SortFunc(all, func(a, b scenario) int { return cmp.Compare(len(a.answer), len(b.answer)) })
	return all
}

// answer is what a program built without the state of the repository answers.
func answer(t *testing.T, input []byte) []byte {
	t.Helper()
	pipeline := service.Pipeline{
		Protocols: service.Protocols{protocol.Default()},
		Words:     wording.For("en"),
		Version:   "development",
		Now:       time.Now,
	}
	request, err := service.Decode(input)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := pipeline.Run(context.Background(), request)
	if err != nil {
		t.Fatal(err)
	}
	return fhirjson.Encode(answer.Resource())
}

// stored are the resources that a record must hold after it was sent the
// answers, by type: one for each condition of creation that is different.
func stored(t *testing.T, all []scenario) (resources map[string]int) {
	t.Helper()
	resources, seen := map[string]int{}, map[string]bool{}
	for _, s := range all {
		var bundle struct {
			Entry []struct {
				Resource struct{ ResourceType string }
				Request  struct{ Method, IfNoneExist string }
			}
		}
		if err := json.Unmarshal(s.answer, &bundle); err != nil {
			t.Fatal(err)
		}
		for _, e := range bundle.Entry {
			condition := e.Resource.ResourceType + "?" + e.Request.IfNoneExist
			if e.Request.Method != http.MethodPost || e.Request.IfNoneExist == "" {
				t.Fatalf("%s: an entry without a condition would be stored twice: %+v", s.name, e.Request)
			}
			if !seen[condition] {
				seen[condition] = true
				resources[e.Resource.ResourceType]++
			}
		}
	}
	return resources
}
