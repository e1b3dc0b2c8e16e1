package main

import (
	"errors"
	"fmt"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"go.uber.org/goleak"

	"evenreach.example/internal/flags"
	"evenreach.example/internal/wording"
)

// tests lets TestMain see leaks once all tests have run, before testscript
// exits.
type tests struct{ *testing.M }

// Run runs the tests and fails if a goroutine is left.
func (m tests) Run() int {
	code := m.M.Run()
	if err := goleak.Find(); code == 0 && err != nil {
		println(err.Error())
		return 1
	}
	return code
}

func TestMain(m *testing.M) {
	testscript.Main(tests{m}, map[string]func(){"evenreach": main})
}

// The command line as its users see it: one script a topic.
func TestScripts(t *testing.T) {
	scenarios, err := filepath.Abs("../../testdata/scenarios")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:  "testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits},
		Setup: func(env *testscript.Env) error {
			env.Setenv("SCENARIOS", scenarios)
			return nil
		},
	})
}

// Every command and everything that it takes is explained in the help.
func TestCommandsAreExplained(t *testing.T) {
	explained(t, program)
}

func explained(t *testing.T, c command) {
	t.Helper()
	for _, s := range c.group {
		explained(t, s)
	}
	if c.help == "" || c.group == nil && c.create == nil {
		t.Errorf("%s: no help, or nothing to do", c.name)
	}
	if c.create == nil {
		return
	}
	takes := flags.Of(c.create())
	for _, a := range takes.Arguments {
		if a.Help == "" {
			t.Errorf("%s <%s>: no help", c.name, a.Name)
		}
	}
	for _, f := range takes.Flags {
		if f.Help == "" || f.Placeholder == "" && f.Alone == "" {
			t.Errorf("%s --%s: help %q, placeholder %q, want both", c.name, f.Name, f.Help, f.Placeholder)
		}
	}
}

// exits runs a program and holds its exit code against the first argument.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE program [args...]")
	}
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		exit, ok := errors.AsType[*exec.ExitError](err)
		if !ok {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if fmt.Sprint(got) != args[0] {
		ts.Fatalf("exit code %d, want %s", got, args[0])
	}
}

// Every catalogue can be asked for.
func TestEveryLanguageIsAFlag(t *testing.T) {
	for _, f := range flags.Of(&assessCommand{}).Flags {
		if f.Name == "language" && !slices.Equal(f.Allowed, wording.Languages()) {
			t.Errorf("the flag takes %q, there is %q", f.Allowed, wording.Languages())
		}
	}
}
