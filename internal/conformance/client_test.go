//go:build conformance

package conformance

import (
	"path/filepath"
	"strings"
	"testing"
)

// A client library that knows nothing of the service finds its way about it.
func TestForeignClient(t *testing.T) {
	base := served(t).FHIR
	args := []string{base, "../../api/fhir/Bundle-example-request.json"}
	for _, path := range written(t, published()) {
		if !strings.HasPrefix(filepath.Base(path), "CapabilityStatement-") {
			args = append(args, path)
		}
	}
	lines := node(t, "client.mjs", args...)
	for _, line := range lines {
		if !strings.HasPrefix(line, "ok\t") {
			t.Error(line)
		}
	}
	t.Logf("%d checks", len(lines))
}
