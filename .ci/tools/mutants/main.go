// Command mutants plants again what survived the tests of its own package, and tries the
// tests of other packages: mutants PACKAGE REPORT TESTED...
//
// REPORT is what gremlins wrote about PACKAGE. What survives all is printed, one mutant a
// line. The file is put back after each, and when the program is told to stop.
package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
)

// report is what gremlins writes.
type report struct {
	Files []struct {
		Name      string   `json:"file_name"`
		Mutations []mutant `json:"mutations"`
	} `json:"files"`
}

type mutant struct {
	Line   int    `json:"line"`
	Column int    `json:"column"`
	Type   string `json:"type"`
	Status string `json:"status"`
}

// replaced is what each kind of mutant makes of a token, as gremlins does. The longer of two
// tokens that begin alike comes first.
var replaced = map[string][][2]string{
	"CONDITIONALS_BOUNDARY": {{"<=", "<"}, {">=", ">"}, {"<", "<="}, {">", ">="}},
	"CONDITIONALS_NEGATION": {{"==", "!="}, {"!=", "=="}, {"<=", ">"}, {">=", "<"}, {"<", ">="}, {">", "<="}},
	"INVERT_LOGICAL":        {{"&&", "||"}, {"||", "&&"}},
	"INVERT_LOOPCTRL":       {{"continue", "break"}, {"break", "continue"}},
	"INCREMENT_DECREMENT":   {{"++", "--"}, {"--", "++"}},
	"ARITHMETIC_BASE":       {{"+", "-"}, {"-", "+"}, {"*", "/"}, {"/", "*"}, {"%", "*"}},
	"INVERT_NEGATIVES":      {{"-", "+"}},
}

func main() {
	if len(os.Args) < 4 {
		fmt.Fprintln(os.Stderr, "usage: mutants PACKAGE REPORT TESTED...")
		os.Exit(2)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, os.Args[1], os.Args[2], os.Args[3:]); err != nil {
		fmt.Fprintln(os.Stderr, "mutants:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, folder, file string, tested []string) error {
	text, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	var found report
	if err := json.Unmarshal(text, &found); err != nil {
		return err
	}
	planted, survived := 0, 0
	for _, f := range found.Files {
		for _, m := range f.Mutations {
			if m.Status != "LIVED" || ctx.Err() != nil {
				continue
			}
			killed, line, err := try(ctx, filepath.Join(folder, filepath.Base(f.Name)), m, tested)
			if err != nil {
				return err
			}
			planted++
			if !killed {
				survived++
				fmt.Printf("%s/%s:%d:%d\t%s\t%s\n", filepath.Base(folder), filepath.Base(f.Name), m.Line, m.Column, m.Type, line)
			}
		}
	}
	fmt.Fprintf(os.Stderr, "%s: of %d that its own tests let live, %d live on\n", folder, planted, survived)
	return ctx.Err()
}

// try plants a mutant and reports whether a test fails.
func try(ctx context.Context, file string, m mutant, tested []string) (killed bool, line string, err error) {
	was, err := os.ReadFile(file)
	if err != nil {
		return false, "", err
	}
	lines := strings.Split(string(was), "\n")
	line = lines[m.Line-1]
	lines[m.Line-1], err = plant(line, m)
	if err != nil {
		return false, "", fmt.Errorf("%s:%d:%d: %w", file, m.Line, m.Column, err)
	}
	defer func() { err = errors.Join(err, os.WriteFile(file, was, 0o644)) }()
	if err := os.WriteFile(file, []byte(strings.Join(lines, "\n")), 0o644); err != nil {
		return false, "", err
	}
	for _, packages := range tested {
		test := exec.CommandContext(ctx, "go", append([]string{"test", "-failfast", "-timeout", "5m"}, strings.Fields(packages)...)...)
		if test.Run() != nil {
			return true, "", ctx.Err()
		}
	}
	return false, strings.TrimSpace(line), nil
}

// plant changes the token of a line.
func plant(line string, m mutant) (string, error) {
	before, rest := line[:m.Column-1], line[m.Column-1:]
	for _, pair := range replaced[m.Type] {
		if after, ok := strings.CutPrefix(rest, pair[0]); ok {
			return before + pair[1] + after, nil
		}
	}
	return "", fmt.Errorf("no token of %s in %q", m.Type, rest)
}
