package main

import (
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"

	"evenreach.example/internal/program"
)

// The commands of RELIABILITY.md are run as they stand there, one after the other, in
// a folder of their own.
func TestCommandsOfTheReliabilityPage(t *testing.T) {
	page, err := os.ReadFile("../../RELIABILITY.md")
	if err != nil {
		t.Fatal(err)
	}
	root, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	root = strings.TrimSuffix(root, "/cmd/evenreach")
	t.Chdir(t.TempDir())
	commands := regexp.MustCompile(`(?m)^ {4}go run \./cmd/evenreach (.*)$`).FindAllStringSubmatch(string(page), -1)
	if len(commands) < 5 {
		t.Fatalf("found %d commands, want those of every section", len(commands))
	}
	word := regexp.MustCompile(`'[^']*'|\S+`)
	for _, c := range commands {
		command, file, _ := strings.Cut(c[1], " > ")
		args := word.FindAllString(command, -1)
		for i, arg := range args {
			args[i] = strings.Trim(arg, "'")
			if strings.HasPrefix(arg, "internal/") || strings.HasPrefix(arg, "testdata/") {
				args[i] = root + "/" + arg
			}
		}
		var out, problems bytes.Buffer
		if code := evenreach.Run(t.Context(), args, program.Streams{In: strings.NewReader(""), Out: &out, Err: &problems}); code != program.OK || out.Len() == 0 {
			t.Errorf("%s: exit code %d, %d bytes, %s", c[1], code, out.Len(), problems.String())
		}
		if file != "" {
			if err := os.WriteFile(file, out.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
}
