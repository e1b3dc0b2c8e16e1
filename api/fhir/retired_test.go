package fhirapi

import (
	"os"
	"slices"
	"strings"
	"testing"
)

// A retired code is not written, was published, and is replaced by what is written.
func TestRetiredCodes(t *testing.T) {
	text, err := os.ReadFile("../../.ci/released/published.txt")
	if err != nil {
		t.Fatal(err)
	}
	released, written := strings.Fields(string(text)), map[string]bool{}
	for _, c := range concepts() {
		written[c.Code] = true
	}
	seen := map[string]bool{}
	for _, r := range retiredCodes() {
		if written[r.Code] || seen[r.Code] {
			t.Errorf("%s is retired, and written or listed twice", r.Code)
		}
		seen[r.Code] = true
		if !slices.Contains(released, "CodeSystem/"+shoulderCodes+"|"+r.Code) {
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
