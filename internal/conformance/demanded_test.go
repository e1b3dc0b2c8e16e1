//go:build conformance || official

package conformance

import (
	"os"
	"path/filepath"
	"testing"

	"evenreach.example/internal/protocoltest"
	"evenreach.example/internal/record"
)

// demanded are the answers to the stories of demands of work and sport, by the example
// protocol that lists some, because the default has none.
func demanded(t *testing.T) (all []document) {
	t.Helper()
	p := protocoltest.WorkAndSport(t)
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
