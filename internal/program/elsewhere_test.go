package program_test

import (
	"bufio"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"evenreach.example/internal/program"
	"evenreach.example/internal/program/programtest"
)

func TestMain(m *testing.M) {
	programtest.Main(m, "first", func() {
		program.Main(program.Command{
			Name: "first", Help: "A program.",
			Group: []program.Command{{Name: "count", Help: "Another one counts.", Elsewhere: "second"}},
		})
	})
}

// There is one script, because a program that was just copied cannot be started while another test
// starts one (go.dev/issue/22315).
func TestScripts(t *testing.T) {
	programtest.Scripts(t, map[string]string{"PROGRAM": first(t)})
}

// The other program is the same process, so that signals to the one reach the other.
func TestTheOtherProgramIsTheSameProcess(t *testing.T) {
	folder := t.TempDir()
	second := "#!/bin/sh\ntrap 'exit 5' TERM\necho $$\nwhile :; do sleep 0.01; done\n"
	if err := os.WriteFile(filepath.Join(folder, "second"), []byte(second), 0o755); err != nil {
		t.Fatal(err)
	}
	path := first(t)
	t.Setenv("PATH", folder+string(filepath.ListSeparator)+os.Getenv("PATH"))
	cmd := exec.CommandContext(t.Context(), path, "count")
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || strings.TrimSpace(line) != strconv.Itoa(cmd.Process.Pid) {
		t.Errorf("the other program is process %q, %v; want %d", line, err, cmd.Process.Pid)
	}
	if err := cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	exit, ok := errors.AsType[*exec.ExitError](cmd.Wait())
	if !ok || exit.ExitCode() != 5 {
		t.Errorf("ended with %v, want 5 of the other program's trap", exit)
	}
}

// first is where the program lies.
func first(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("first")
	if err != nil {
		t.Fatal(err)
	}
	return path
}
