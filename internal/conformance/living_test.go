//go:build conformance

package conformance

import (
	"strings"
	"testing"
)

// Over three visits, with a clinician between them, a record keeps one plan that lives on:
// nothing is left behind, overwritten or stored twice.
func TestRecordLivesOverThreeVisits(t *testing.T) {
	lines := node(t, "living.mjs", served(t).FHIR, "../../testdata/scenarios/ten-visits/input.json", "2026-01-12", "2026-01-26", "2026-02-09")
	for _, line := range lines {
		if !strings.HasPrefix(line, "ok\t") {
			t.Error(line)
		}
	}
	t.Logf("%d checks", len(lines))
}
