package fhirapi_test

import (
	"encoding/json"
	"flag"
	"os"
	"slices"
	"strings"
	"testing"

	fhirapi "evenreach.example/api/fhir"
	"evenreach.example/internal/protocol"
)

// releasedFile lists what the last release published: an address a line, of a code with a bar before it.
const releasedFile = "../../.ci/released/published.txt"

var release = flag.Bool("release", false, "write the list of what is published, for the next release to keep")

// concept is a code of ours as it is published.
type concept struct {
	Code     string
	Property []struct{ Code, ValueCode string }
}

func (c concept) property(name string) string {
	for _, p := range c.Property {
		if p.Code == name {
			return p.ValueCode
		}
	}
	return ""
}

// publishedNow are the addresses of all that is published, each code with its concept.
func publishedNow(t *testing.T) map[string]concept {
	t.Helper()
	all := map[string]concept{}
	for _, r := range fhirapi.New([]*protocol.Protocol{protocol.Default()}).Resources() {
		all[r.Type+"/"+r.ID] = concept{}
		var system struct{ Concept []concept }
		if err := json.Unmarshal(r.JSON, &system); err != nil {
			t.Fatal(err)
		}
		if r.Type != "CodeSystem" {
			continue
		}
		for _, c := range system.Concept {
			all[r.Type+"/"+r.ID+"|"+c.Code] = c
		}
	}
	return all
}

// What the last release published is published still, because records have it. A code that is not used any more stays, with
// the status retired, and names as replacedBy the code in use that took its place, if there is one.
func TestWhatWasReleasedIsKept(t *testing.T) {
	now := publishedNow(t)
	if *release {
		var lines []string
		for address := range now {
			lines = append(lines, address+"\n")
		}
		slices.Sort(lines)
		if err := os.WriteFile(releasedFile, []byte(strings.Join(lines, "")), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile(releasedFile)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Fields(string(text))
	if len(lines) < 200 {
		t.Fatalf("%d addresses of the last release, so that nothing is held", len(lines))
	}
	for _, problem := range lost(lines, now) {
		t.Error(problem)
	}
}

// lost says what a record would look for in vain.
func lost(released []string, now map[string]concept) (problems []string) {
	for _, address := range released {
		if _, kept := now[address]; !kept {
			problems = append(problems, address+" was published by the last release and is not any more; expected it, a code with the status retired")
		}
	}
	for address, c := range now {
		system, _, isCode := strings.Cut(address, "|")
		by, known := now[system+"|"+c.property("replacedBy")]
		if isCode && c.property("replacedBy") != "" && (c.property("status") != "retired" || !known || by.property("status") == "retired") {
			problems = append(problems, address+" is replaced by "+c.property("replacedBy")+"; expected a retired code, and one in use in its place")
		}
	}
	return problems
}

func TestLostCodesAreFound(t *testing.T) {
	code := func(properties ...string) (c concept) {
		for i := 0; i < len(properties); i += 2 {
			c.Property = append(c.Property, struct{ Code, ValueCode string }{properties[i], properties[i+1]})
		}
		return c
	}
	for name, c := range map[string]struct {
		now  map[string]concept
		want int
	}{
		"kept":                      {map[string]concept{"CodeSystem/s|a": {}}, 0},
		"retired and replaced":      {map[string]concept{"CodeSystem/s|a": code("status", "retired", "replacedBy", "b"), "CodeSystem/s|b": {}}, 0},
		"retired alone":             {map[string]concept{"CodeSystem/s|a": code("status", "retired")}, 0},
		"gone":                      {map[string]concept{"CodeSystem/s|b": {}}, 1},
		"replaced by nothing":       {map[string]concept{"CodeSystem/s|a": code("status", "retired", "replacedBy", "b")}, 1},
		"replaced by a retired":     {map[string]concept{"CodeSystem/s|a": code("status", "retired", "replacedBy", "b"), "CodeSystem/s|b": code("status", "retired")}, 1},
		"replaced, and not retired": {map[string]concept{"CodeSystem/s|a": code("replacedBy", "b"), "CodeSystem/s|b": {}}, 1},
	} {
		if got := lost([]string{"CodeSystem/s|a"}, c.now); len(got) != c.want {
			t.Errorf("%s: %q, want %d problems", name, got, c.want)
		}
	}
}
