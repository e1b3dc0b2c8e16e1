//go:build conformance || official

package conformance

import (
	"os"
	"path/filepath"
	"testing"

	"evenreach.example/internal/protocol"
	"evenreach.example/internal/record"
)

// demanded are the answers to the stories of demands of work and sport, by the example
// protocol that lists some, because the default has none.
func demanded(t *testing.T) (all []document) {
	t.Helper()
	file, err := os.ReadFile("../../testdata/protocols/work-and-sport.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, err := protocol.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	stories, err := filepath.Glob("../../testdata/demands/*/input.json")
	if err != nil || len(stories) == 0 {
		t.Fatalf("%d stories, %v", len(stories), err)
	}
	for _, path := range stories {
		body, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Base(filepath.Dir(path))
		all = append(all, document{name, answerUnder(t, p, name, body, record.Collection)})
	}
	return all
}
