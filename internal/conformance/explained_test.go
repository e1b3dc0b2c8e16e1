//go:build conformance || official

package conformance

import (
	"regexp"
	"testing"
)

// finding is what a validator says about a document.
type finding struct {
	Document string `json:"file"`
	Severity string `json:"severity"`
	Engine   string `json:"engine"`
	Path     string `json:"path"`
	Message  string `json:"message"`
}

// explanation is a finding that is expected, and why it is none of our faults.
// Errors are never explained.
type explanation struct {
	engine  string
	message string // pattern
	reason  string
}

// check reports every finding without an explanation, and every explanation
// that explains nothing any more.
func check(t *testing.T, findings []finding, explained []explanation) {
	t.Helper()
	patterns := make([]*regexp.Regexp, len(explained))
	for i, e := range explained {
		patterns[i] = regexp.MustCompile(e.message)
	}
	used := make([]bool, len(explained))
	for _, f := range findings {
		known := false
		for i, e := range explained {
			if f.Severity != "error" && f.Severity != "fatal" && f.Engine == e.engine && patterns[i].MatchString(f.Message) {
				used[i], known = true, true
				break
			}
		}
		if !known {
			t.Errorf("%s\t%s\t%s\t%s\t%s", f.Document, f.Severity, f.Engine, f.Path, f.Message)
		}
	}
	for i, e := range explained {
		if !used[i] {
			t.Errorf("no finding matches %q of %s any more: take the explanation out", e.message, e.engine)
		}
	}
}
