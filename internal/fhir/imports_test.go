package fhir_test

import (
	"go/build"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The program must not pay for the messages of google/fhir, which would be its largest
// part: only callers and tests make them, through the contract.
func TestOnlyTheContractLinksGoogleFHIR(t *testing.T) {
	for _, name := range []string{"internal/fhir", "internal/fhir/fhirjson", "internal/fhir/fhirproto", "internal/intake", "internal/record", "cmd/evenreach"} {
		linked := map[string]bool{}
		link(t, name, linked)
		for _, path := range slices.Sorted(maps.Keys(linked)) {
			if strings.HasPrefix(path, "github.com/google/fhir/") && path != annotations {
				t.Errorf("%s links %s", name, path)
			}
		}
	}
	linked := map[string]bool{}
	link(t, "api/evenreach/v1", linked)
	if !linked["github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"] {
		t.Error("api/evenreach/v1 does not link google/fhir: the test does not see it")
	}
}

// annotations are what reflection needs of google/fhir besides descriptors, a small package.
const annotations = "github.com/google/fhir/go/proto/google/fhir/proto/annotations_go_proto"

// link adds what a package of this module imports, and what those of its imports
// that are of this module import in turn.
func link(t *testing.T, name string, linked map[string]bool) {
	t.Helper()
	all := build.Default
	all.UseAllFiles = true // whatever the platform
	pkg, err := all.ImportDir(filepath.Join("..", "..", name), 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range pkg.Imports {
		own, isOwn := strings.CutPrefix(path, "evenreach.example/")
		if isOwn && !linked[path] {
			linked[path] = true
			link(t, own, linked)
		}
		linked[path] = true
	}
}
