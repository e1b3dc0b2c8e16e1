package record

import (
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/protocol"
)

// Every answer names the protocol's version and its very content.
func TestAnswerNamesTheProtocolsContent(t *testing.T) {
	digest := protocol.Default().Digest()
	for _, e := range twoVisits().answer(t, Transaction).Entry {
		switch r := e.Resource.(type) {
		case *fhir.Provenance:
			if !slices.Contains(r.Policy, "nih:sha-256;"+digest) || !slices.Contains(r.Policy, fhir.CanonicalPlanDefinition+"evenreach-default|2.0.0") {
				t.Errorf("policy = %q, want the protocol's version and digest", r.Policy)
			}
		case *fhir.DiagnosticReport:
			if !strings.Contains(r.Text.Div, digest[:12]) {
				t.Error("the report does not show the protocol's digest")
			}
		}
	}
}
