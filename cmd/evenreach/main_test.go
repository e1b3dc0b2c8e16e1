package main

import (
	"path/filepath"
	"slices"
	"testing"

	"evenreach.example/internal/flags"
	"evenreach.example/internal/program/programtest"
	"evenreach.example/internal/wording"
)

func TestMain(m *testing.M) { programtest.Main(m, "evenreach", main) }

// The command line as its users see it: one script a topic.
func TestScripts(t *testing.T) {
	scenarios, err := filepath.Abs("../../testdata/scenarios")
	if err != nil {
		t.Fatal(err)
	}
	programtest.Scripts(t, map[string]string{"SCENARIOS": scenarios})
}

func TestCommandsAreExplained(t *testing.T) { programtest.Explained(t, evenreach) }

// Every catalogue can be asked for.
func TestEveryLanguageIsAFlag(t *testing.T) {
	for _, f := range flags.Of(&assessCommand{}).Flags {
		if f.Name == "language" && !slices.Equal(f.Allowed, wording.Languages()) {
			t.Errorf("the flag takes %q, there is %q", f.Allowed, wording.Languages())
		}
	}
}
