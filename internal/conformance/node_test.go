//go:build conformance

package conformance

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// node runs a script of this folder and returns its lines. It fails the test if
// the script says nothing; what its exit code says, its lines say better.
func node(t *testing.T, script string, args ...string) []string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute)
	defer cancel()
	var out, problems bytes.Buffer
	command := exec.CommandContext(ctx, "node", append([]string{script}, args...)...)
	command.Stdout, command.Stderr = &out, &problems
	err := command.Run()
	_, exited := errors.AsType[*exec.ExitError](err)
	if err != nil && !exited || out.Len() == 0 {
		t.Fatalf("%s: %v\n%.2000s", script, err, problems.String())
	}
	return strings.Split(strings.TrimSpace(out.String()), "\n")
}

// validated checks documents, and our definitions that they are held against,
// with the validators on Node.
func validated(t *testing.T, documents []document) []finding {
	t.Helper()
	var args []string
	for _, path := range written(t, definitions()) {
		args = append(args, "--publish", path)
	}
	expected := len(args)/2 + len(documents)
	lines := node(t, "validate.mjs", append(args, written(t, documents)...)...)
	var findings []finding
	for _, line := range lines[:len(lines)-1] {
		var f finding
		if err := json.Unmarshal([]byte(line), &f); err != nil {
			t.Fatalf("%v: %.200s", err, line)
		}
		f.Document = filepath.Base(f.Document)
		findings = append(findings, f)
	}
	var total struct{ Checked, Errors int }
	if err := json.Unmarshal([]byte(lines[len(lines)-1]), &total); err != nil || total.Checked != expected {
		t.Fatalf("%d documents checked, want %d: %v", total.Checked, expected, err)
	}
	t.Logf("%d documents, %d errors, %d findings", total.Checked, total.Errors, len(findings))
	return findings
}
