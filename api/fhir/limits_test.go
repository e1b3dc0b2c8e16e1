package fhirapi_test

import (
	"os"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
)

// The limits are documented where a caller looks, and are those that are kept.
func TestLimitsAreDocumented(t *testing.T) {
	if got, want := fhir.DefaultLimits, (fhir.Limits{Bytes: 8 << 20, Depth: 40, Entries: 20_000, Lists: 16 << 20}); got != want {
		t.Errorf("limits %+v, the texts below say %+v", got, want)
	}
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	var operation struct{ Comment string }
	lookup(t, "OperationDefinition", "assess-shoulder", &operation)
	for where, text := range map[string]string{"README.md": strings.ReplaceAll(string(readme), ",000", "000"), "OperationDefinition": operation.Comment} {
		for _, want := range []string{"8 MiB", "20000", "40 levels", "16 MiB"} {
			if !strings.Contains(strings.ReplaceAll(text, "\n", " "), want) {
				t.Errorf("%s does not say %s", where, want)
			}
		}
	}
}
