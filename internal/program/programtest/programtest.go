// Package programtest tests programs as their users see them.
package programtest

import (
	"errors"
	"fmt"
	"os/exec"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"go.uber.org/goleak"

	"evenreach.example/internal/flags"
	"evenreach.example/internal/program"
)

// tests lets Main see leaks once all tests have run, before testscript exits.
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

// Main is TestMain of a program, which scripts then find by its name.
func Main(m *testing.M, name string, main func()) {
	testscript.Main(tests{m}, map[string]func(){name: main})
}

// Scripts runs the scripts of testdata/script, one a topic, with these environment variables. Beside
// testscript's own commands they have exits CODE PROGRAM [ARGUMENT...].
func Scripts(t *testing.T, variables map[string]string) {
	t.Helper()
	testscript.Run(t, testscript.Params{
		Dir:  "testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"exits": exits},
		Setup: func(env *testscript.Env) error {
			for name, value := range variables {
				env.Setenv(name, value)
			}
			return nil
		},
	})
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

// Explained fails unless every command and everything that it takes is explained in the help.
func Explained(t *testing.T, c program.Command) {
	t.Helper()
	for _, s := range c.Group {
		Explained(t, s)
	}
	if c.Help == "" || c.Group == nil && c.Create == nil && c.Elsewhere == "" {
		t.Errorf("%s: no help, or nothing to do", c.Name)
	}
	if c.Create == nil {
		return
	}
	takes := flags.Of(c.Create())
	for _, a := range takes.Arguments {
		if a.Help == "" {
			t.Errorf("%s <%s>: no help", c.Name, a.Name)
		}
	}
	for _, f := range takes.Flags {
		if f.Help == "" || f.Placeholder == "" && f.Alone == "" {
			t.Errorf("%s --%s: help %q, placeholder %q, want both", c.Name, f.Name, f.Help, f.Placeholder)
		}
	}
}
