//go:build conformance || official

package conformance

import (
	"os"
	"path/filepath"
	"testing"
)

// written writes documents into a folder of the test's own and returns their
// paths.
func written(t *testing.T, documents []document) (paths []string) {
	t.Helper()
	folder := t.TempDir()
	for _, d := range documents {
		path := filepath.Join(folder, d.name+".json")
		if err := os.WriteFile(path, d.body, 0o600); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	return paths
}
