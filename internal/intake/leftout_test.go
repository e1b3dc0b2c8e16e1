package intake

import (
	"strconv"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// One line a code says how many Observations were left out, however many there are and in
// whatever order.
func TestLeftOutIsCountedByCode(t *testing.T) {
	vital := func(i int, code string) fhir.Resource {
		return observation("v"+strconv.Itoa(i), coding(fhir.SystemLOINC, code), ucum("72", "/min"))
	}
	many := func(n int, code func(i int) string) (all []fhir.Resource) {
		for i := range n {
			all = append(all, vital(i, code(i)))
		}
		return all
	}
	tests := []struct {
		name  string
		given []fhir.Resource
		want  map[string]int // number of issues by their diagnostic
		lines int
	}{
		{"4,000 of two codes", many(4000, func(i int) string { return [...]string{"8867-4", "8480-6"}[i%2] }), map[string]int{
			`found 2000 Observations with the code "http://loinc.org|8867-4"`: 1, `found 2000 Observations with the code "http://loinc.org|8480-6"`: 1}, 2},
		{"one alone keeps its place", many(1, func(int) string { return "8867-4" }), map[string]int{"": 1}, 1},
		{"1,000 codes", many(1000, func(i int) string { return "x" + strconv.Itoa(i) }), map[string]int{"found 900 Observations": 1}, maxLeftOut + 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := bundle(append(tt.given, strengthOf("a"))...)
			r := readInput(t, Input{Bundle: b, Involved: shoulder.Right})
			if len(r.Issues) != tt.lines {
				t.Errorf("%d issues, want %d: %v", len(r.Issues), tt.lines, summary(r.Issues[:min(3, len(r.Issues))]))
			}
			found := map[string]int{}
			for _, i := range r.Issues {
				if i.Kind != fault.NotRead || i.Severity != fault.Information {
					t.Errorf("issue %v", i)
				}
				found[i.Diagnostic]++
			}
			for diagnostic, n := range tt.want {
				if found[diagnostic] != n {
					t.Errorf("%d issues say %q, want %d: %v", found[diagnostic], diagnostic, n, found)
				}
			}
		})
	}
}
