package assess

import (
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The core may import itself and these. A failure is answered in the code, not
// in the list: no FHIR, no gRPC, no logger, no randomness.
var (
	pure    = []string{"course", "exact", "fault", "shoulder", "measure", "healing", "redflag", "protocol", "shape", "readiness", "plan", "assess", "reliability"}
	allowed = []string{
		"cmp", "errors", "fmt", "maps", "math", "math/big", "math/bits", "slices", "strconv", "strings", "time",
		"gonum.org/v1/gonum/stat", "gonum.org/v1/gonum/stat/distuv",
	}
	// These also read files that are handed to them, or compute a table once.
	readers = map[string][]string{"reliability": {"encoding/csv", "io"}, "protocol": {
		"crypto/sha256", "embed", "encoding/hex", "reflect", "sync",
		"github.com/go-json-experiment/json", "github.com/go-json-experiment/json/jsontext",
		"github.com/santhosh-tekuri/jsonschema/v6", "go.yaml.in/yaml/v2", "sigs.k8s.io/yaml",
	}, "course": {"sync"}, "shape": {
		"bytes", "github.com/santhosh-tekuri/jsonschema/v6", "golang.org/x/text/language", "golang.org/x/text/message", "sigs.k8s.io/yaml",
	}}
)

func TestCoreStaysPure(t *testing.T) {
	for _, name := range pure {
		files, err := filepath.Glob(filepath.Join("..", name, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		checked := 0
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			checked++
			for _, path := range imports(t, file) {
				if !mayImport(name, path) {
					t.Errorf("%s imports %s: the core is pure", file, path)
				}
			}
		}
		if checked == 0 {
			t.Errorf("no file of package %s was checked", name)
		}
	}
}

// The core is given its date. A clock read inside would make a replay differ.
func TestCoreReadsNoClock(t *testing.T) {
	for _, name := range pure {
		files, err := filepath.Glob(filepath.Join("..", name, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			for _, call := range []string{"time." + "Now(", "time." + "Since(", "time." + "Until("} {
				if strings.Contains(string(text), call) {
					t.Errorf("%s calls %s", file, call)
				}
			}
		}
	}
}

func imports(t *testing.T, file string) (paths []string) {
	t.Helper()
	parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
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

func mayImport(name, path string) bool {
	own, isOwn := strings.CutPrefix(path, "evenreach.example/internal/")
	switch {
	case isOwn:
		return slices.Contains(pure, own)
	case slices.Contains(readers[name], path):
		return true
	}
	return slices.Contains(allowed, path)
}
