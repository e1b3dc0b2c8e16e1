package comparators

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

const line = `{"name":"engine 1.0","what":"runs the rules","iterations":200,"seconds":4,"cpuSeconds":5}`

var result = Result{
	Name: "engine 1.0", What: "runs the rules", Iterations: 200,
	PerOp: 20 * time.Millisecond, CPUPerOp: 25 * time.Millisecond,
}

func TestRead(t *testing.T) {
	tests := []struct {
		name, out string
		want      []Result
		err       string
	}{
		{"one", line + "\n", []Result{result}, ""},
		{"several, the last without a line end", line + "\n" + line, []Result{result, result}, ""},
		{"nothing", "", nil, "no result"},
		{"no JSON", line + "\nwarning: slow\n", nil, "not a result"},
		{"no name", strings.Replace(line, "engine 1.0", "", 1), nil, "not a result"},
		{"never run", strings.Replace(line, "200", "0", 1), nil, "not a result"},
		{"no time", strings.Replace(line, `"seconds":4`, `"seconds":0`, 1), nil, "not a result"},
		{"no time of the processor", strings.Replace(line, `"cpuSeconds":5`, `"cpuSeconds":0`, 1), nil, "not a result"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := read([]byte(tt.out))
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Error(diff)
			}
			if (err == nil) != (tt.err == "") || err != nil && !strings.Contains(err.Error(), tt.err) {
				t.Errorf("error %v, want %q", err, tt.err)
			}
		})
	}
}

// TestRun stands in for the tools with scripts.
func TestRun(t *testing.T) {
	const succeeds, fails = "exit 0", "echo out of order >&2; exit 1"
	prints := "echo '" + line + "'"
	tests := []struct {
		name    string
		tools   map[string]string
		results []Result
		notRun  []string // parts of each
	}{
		{"no tools", nil, nil, []string{"cql-execution: not installed: npm, node", "HAPI FHIR: not installed: mvn, java"}},
		{"one is installed", map[string]string{"npm": succeeds, "node": prints}, []Result{result}, []string{"HAPI FHIR: not installed: mvn"}},
		{"one cannot be prepared", map[string]string{"npm": succeeds, "node": prints, "mvn": fails, "java": prints},
			[]Result{result}, []string{"HAPI FHIR: mvn: exit status 1: out of order"}},
		{"one fails", map[string]string{"npm": succeeds, "node": fails, "mvn": succeeds, "java": prints},
			[]Result{result}, []string{"cql-execution: node: exit status 1: out of order"}},
		{"given the Bundle", map[string]string{"npm": succeeds, "node": `test "$(cat "$2")" = '{}' && test -f measure.mjs && ` + prints, "mvn": succeeds, "java": prints},
			[]Result{result, result}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Setenv("PATH", scripts(t, tt.tools))
			results, notRun := Run(t.Context(), []byte("{}"))
			if diff := cmp.Diff(tt.results, results); diff != "" {
				t.Error(diff)
			}
			if len(notRun) != len(tt.notRun) {
				t.Fatalf("not run: %q, want %q", notRun, tt.notRun)
			}
			for i, want := range tt.notRun {
				if !strings.Contains(notRun[i], want) {
					t.Errorf("not run: %q, want %q", notRun[i], want)
				}
			}
		})
	}
}

// scripts writes commands for the shell and returns their folder.
func scripts(t *testing.T, tools map[string]string) string {
	t.Helper()
	folder := t.TempDir()
	for name, script := range tools {
		head := "#!/bin/sh\nPATH=/usr/bin:/bin\n"
		if err := os.WriteFile(filepath.Join(folder, name), []byte(head+script+"\n"), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}
