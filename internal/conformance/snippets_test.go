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
