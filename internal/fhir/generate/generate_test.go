package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestFilesAreFresh fails when the list and what was made from it differ.
func TestFilesAreFresh(t *testing.T) {
	files, err := generate(list)
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range files {
		got, err := os.ReadFile(filepath.Join("..", name))
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s is not what the list says: go run ./internal/fhir/generate", name)
		}
	}
}

// TestGenerateRefuses wants errors that say what is wrong, and where.
func TestGenerateRefuses(t *testing.T) {
	tests := []struct{ name, list, want string }{
		{"unknown type", "Observatory\n\tstatus", "Observatory"},
		{"unknown element", "Period\n\tstart, middle", `Period: FHIR R4 has no element "middle"`},
		{"type that is not listed", "Observation\n\tcode", "code: its type CodeableConcept is not in the list"},
		{"choice element without [x]", "Observation\n\tvalue", "value: only choice elements are written with [x]"},
		{"[x] behind another element", "Period\n\tstart[x]", "start: only choice elements are written with [x]"},
		{"type that a choice element has not", "Goal\n\tstart[x] split Quantity", "start: it has not all the types [Quantity]"},
		{"unknown keyword", "Period\n\tstart, end inlined", `line 2: found "inlined" behind end`},
		{"two commas", "Period\n\tstart,, end", "line 2: found no name between commas"},
		{"elements without a type", "\tstart", "line 1: found elements without a type"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := generate(tt.list + "\n\nCommon\n\tid\n")
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("%v, want an error with %q", err, tt.want)
			}
		})
	}
}
