package conformance

import (
	"os"
	"strings"
	"testing"
)

// tried are the programs that the README's snippets are taken from, by the language
// of the snippet.
var tried = map[string]string{
	"python": "clients/python/clients.py",
	"java":   "clients/java/src/main/java/Clients.java",
	"js":     "clients/node/clients.mjs",
	"sh":     "clients/grpcurl/clients.sh",
}

// Every line of the README's snippets stands in a client that is tried.
func TestSnippetsAreTried(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	for language, file := range tried {
		program, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		_, snippet, there := strings.Cut(string(readme), "```"+language+"\n")
		snippet, _, closed := strings.Cut(snippet, "```")
		if !there || !closed {
			t.Errorf("the README has no snippet of %s", language)
		}
		for line := range strings.Lines(snippet) {
			if !strings.Contains(string(program), strings.TrimSpace(line)) {
				t.Errorf("%s has no line %q", file, strings.TrimSpace(line))
			}
		}
	}
}

// What the README shows of a report stands in the report of the scenario that it names first.
func TestExcerptIsInTheReport(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	report, err := os.ReadFile("../../testdata/scenarios/good-at-side-weak-overhead/golden.txt")
	if err != nil {
		t.Fatal(err)
	}
	_, excerpt, there := strings.Cut(string(readme), "## What it says\n\n")
	excerpt, _, closed := strings.Cut(excerpt, "\n\n")
	if excerpt = strings.ReplaceAll(excerpt, "    ", ""); !there || !closed || !strings.Contains(string(report), excerpt) {
		t.Errorf("the report does not say %q", excerpt)
	}
}
