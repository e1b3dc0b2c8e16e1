package conformance

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"
)

// coding is a code of a system, with its display.
type coding struct{ System, Code, Display string }

// codings are all codings in a document.
func codings(t *testing.T, d document) (all []coding) {
	t.Helper()
	var parsed any
	if err := json.Unmarshal(d.body, &parsed); err != nil {
		t.Fatal(err)
	}
	var walk func(any)
	walk = func(node any) {
		switch v := node.(type) {
		case []any:
			for _, item := range v {
				walk(item)
			}
		case map[string]any:
			system, _ := v["system"].(string)
			code, isCoding := v["code"].(string)
			display, _ := v["display"].(string)
			if isCoding && system != "" {
				all = append(all, coding{system, code, display})
			}
			for _, item := range v {
				walk(item)
			}
		}
	}
	walk(parsed)
	return all
}

// cards is the answer to a call of CDS Hooks.
func cards(t *testing.T) document {
	t.Helper()
	body, err := os.ReadFile("../../testdata/hooks/golden.json")
	if err != nil {
		t.Fatal(err)
	}
	return document{"cards", body}
}

// Every code of ours in an answer is published, with the display that stands
// beside it.
func TestCodesArePublished(t *testing.T) {
	systems := map[string]map[string]string{}
	for _, d := range published() {
		if !strings.HasPrefix(d.name, "CodeSystem-") {
			continue
		}
		var system struct {
			URL     string
			Concept []struct{ Code, Display string }
		}
		if err := json.Unmarshal(d.body, &system); err != nil {
			t.Fatal(err)
		}
		systems[system.URL] = map[string]string{}
		for _, c := range system.Concept {
			systems[system.URL][c.Code] = c.Display
		}
	}
	const base = "https://evenreach.example/fhir/CodeSystem/"
	seen := map[string]bool{}
	for _, d := range append(slices.Concat(answers(t), published()), cards(t)) {
		for _, c := range codings(t, d) {
			if !strings.HasPrefix(c.System, base) {
				continue
			}
			seen[c.System] = true
			display, known := systems[c.System][c.Code]
			if !known || c.Display != "" && c.Display != display {
				t.Errorf("%s: %q; published with display %q", d.name, c, display)
			}
		}
	}
	if len(seen) != len(systems) {
		t.Errorf("codes of %v were seen, want of every system of ours", seen)
	}
}
