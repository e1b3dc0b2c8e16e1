package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
)

// machine says in one line what was measured on.
func machine() string {
	return fmt.Sprintf("%s, %d cores, %s/%s, %s", processor(), runtime.NumCPU(), runtime.GOOS, runtime.GOARCH, runtime.Version())
}

// processor is the name of the processor, as Linux knows it.
func processor() string {
	text, err := os.ReadFile("/proc/cpuinfo")
	if err != nil {
		return "an unknown processor"
	}
	for line := range strings.Lines(string(text)) {
		if name, value, found := strings.Cut(line, ":"); found && strings.TrimSpace(name) == "model name" {
			return strings.TrimSpace(value)
		}
	}
	return "an unknown processor"
}

// build makes the service's binary.
func build(ctx context.Context, folder string) (string, error) {
	binary := filepath.Join(folder, "evenreach")
	out, err := exec.CommandContext(ctx, "go", "build", "-tags", "grpcnotrace", "-o", binary, "./cmd/evenreach").CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("build: %w\n%s", err, out)
	}
	return binary, nil
}

// heading starts a table.
func heading(title string, columns ...string) {
	fmt.Printf("\n### %s\n\n| %s |\n|%s\n", title, strings.Join(columns, " | "), strings.Repeat("---|", len(columns)))
}

// row prints one line of a table.
func row(cells ...string) { fmt.Printf("| %s |\n", strings.Join(cells, " | ")) }
