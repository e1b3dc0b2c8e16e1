package fhir_test

import (
	"go/parser"
	"go/token"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// What needs the wire model, or its JSON, must not pay for the messages of
// google/fhir, which are the largest part of the program.
func TestOnlyProtocolBuffersLinkGoogleFHIR(t *testing.T) {
	for _, name := range []string{"internal/fhir", "internal/fhir/fhirjson", "internal/intake", "internal/record"} {
		linked := map[string]bool{}
		link(t, name, linked)
		for _, path := range slices.Sorted(maps.Keys(linked)) {
			if strings.HasPrefix(path, "github.com/google/fhir/") {
				t.Errorf("%s links %s", name, path)
			}
		}
	}
	linked := map[string]bool{}
	link(t, "internal/fhir/fhirproto", linked)
	if !linked["github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"] {
		t.Error("internal/fhir/fhirproto does not link google/fhir: the test does not see it")
	}
}

// link adds what a package of this module imports, and what those of its imports
// that are of this module import in turn.
func link(t *testing.T, name string, linked map[string]bool) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "..", name, "*.go"))
	if err != nil || len(files) == 0 {
		t.Fatalf("found %d files of %s (%v)", len(files), name, err)
	}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		for _, path := range imported(t, file) {
			own, isOwn := strings.CutPrefix(path, "evenreach.example/")
			if isOwn && !linked[path] {
				linked[path] = true
				link(t, own, linked)
			}
			linked[path] = true
		}
	}
}

func imported(t *testing.T, file string) (paths []string) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	parsed, err := parser.ParseFile(token.NewFileSet(), file, text, parser.ImportsOnly)
	if err != nil {
		t.Fatal(err)
	}
	for _, spec := range parsed.Imports {
		path, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	return paths
}
