package fhirapi

import (
	"encoding/json"
	"flag"
	"os"
	"slices"
	"strings"
	"testing"
)

// releasedCodes lists every code that was ever published, a code system and a code a line:
// records hold them.
const releasedCodes = "released-codes.txt"

var release = flag.Bool("release", false, "add the present codes to the released ones")

// codesIn are the codes of a published code system.
func codesIn(r Resource) (codes []string) {
	var system struct{ Concept []struct{ Code string } }
	if err := json.Unmarshal(r.JSON, &system); err != nil {
		panic(err)
	}
	for _, c := range system.Concept {
		codes = append(codes, c.Code)
	}
	return codes
}

// publishedCodes are the codes of our code systems, as lines of the list.
func publishedCodes() (lines []string) {
	for _, r := range codeSystems() {
		for _, code := range codesIn(r) {
			lines = append(lines, r.ID+" "+code)
		}
	}
	return lines
}

// listedCodes are the lines of the list.
func listedCodes(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile(releasedCodes)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSpace(string(text)), "\n")
}

// No code that was ever published vanishes: what is written no more is retired.
func TestNoReleasedCodeVanishes(t *testing.T) {
	released, published := listedCodes(t), publishedCodes()
	if *release {
		all := slices.Concat(released, published)
		slices.Sort(all)
		if err := os.WriteFile(releasedCodes, []byte(strings.Join(slices.Compact(all), "\n")+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if len(released) < 300 {
		t.Fatalf("%d codes are listed as released, want those of all releases", len(released))
	}
	for _, code := range released {
		if !slices.Contains(published, code) {
			t.Errorf("%s was published and is gone: retire it", code)
		}
	}
}

// A retired code is not written, was published, and is replaced by what is written.
func TestRetiredCodes(t *testing.T) {
	released, written := listedCodes(t), map[string]bool{}
	for _, c := range concepts() {
		written[c.Code] = true
	}
	seen := map[string]bool{}
	for _, r := range retiredCodes() {
		if written[r.Code] || seen[r.Code] {
			t.Errorf("%s is retired, and written or listed twice", r.Code)
		}
		seen[r.Code] = true
		if !slices.Contains(released, shoulderCodes+" "+r.Code) {
			t.Errorf("%s is retired and was never published", r.Code)
		}
		for _, code := range r.replacedBy {
			if !written[code] {
				t.Errorf("%s is replaced by %s, which is no code that is written", r.Code, code)
			}
		}
		if p := r.listed().Property; p[0] != (conceptProperty{"status", "retired"}) || r.Display == "" || r.Definition == "" {
			t.Errorf("%s is published as %+v", r.Code, r.listed())
		}
	}
}
