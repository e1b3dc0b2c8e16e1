package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// program is the compiled tests of a package.
type program struct {
	name, folder, file string
	flags              []string // further ones, where the tests know them
	tests              []test   // the shortest first
}

// test is one test, with the faults that it reaches and how long it takes.
type test struct {
	name    string
	reaches map[int]bool
	takes   time.Duration
}

// longest is how long the tests of one package may take for a fault to be tried by them.
const longest = 5 * time.Minute

// start prepares the running of tests. The seed of property tests is fixed where CI is set.
func (p *program) start(ctx context.Context, pattern string, environment ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, p.file, append(p.flags, "-test.run", pattern, "-test.failfast", "-test.count=1")...)
	c.Dir, c.Env = p.folder, append(append(os.Environ(), "CI=1"), environment...)
	c.WaitDelay = time.Second
	return c
}

// learn runs each test alone and notes which faults it reaches. One that fails without a fault is left out.
func (p *program) learn(ctx context.Context, scratch string) error {
	names, err := p.list(ctx)
	if err != nil {
		return err
	}
	trace := filepath.Join(scratch, "trace")
	for name := range strings.FieldsSeq(names) {
		_ = os.Remove(trace) // there is none where the last test reached nothing
		began := time.Now()
		if err := p.start(ctx, "^"+name+"$", "MUTANT_TRACE="+trace).Run(); err != nil {
			fmt.Fprintf(os.Stderr, "%s: %s fails without a fault and is left out\n", p.name, name)
			continue
		}
		t := test{name: name, reaches: map[int]bool{}, takes: time.Since(began)}
		reached, _ := os.ReadFile(trace)
		for number := range strings.FieldsSeq(string(reached)) {
			n, _ := strconv.Atoi(number)
			t.reaches[n] = true
		}
		p.tests = append(p.tests, t)
	}
	slices.SortStableFunc(p.tests, func(a, b test) int { return int(a.takes - b.takes) })
	p.control(ctx)
	return ctx.Err()
}

// control runs all tests together without a fault: what fails then would seem to notice every fault.
func (p *program) control(ctx context.Context) {
	for _, round := range rounds(p.tests) {
		if p.fails(ctx, none, round) && ctx.Err() == nil {
			fmt.Fprintf(os.Stderr, "%s: tests that pass alone fail together without a fault, %s among them\n", p.name, round[0].name)
		}
	}
}

// none is the number of no fault.
const none = 0

// list names the tests. Property tests are told to write down no failure: they would try it again with the next fault.
func (p *program) list(ctx context.Context) (string, error) {
	for _, flags := range [][]string{{"-rapid.nofailfile"}, nil} {
		c := exec.CommandContext(ctx, p.file, append(flags, "-test.list", "^(Test|Fuzz|Example)")...)
		c.Dir = p.folder
		names, err := c.Output()
		if err == nil {
			p.flags = flags
			return string(names), nil
		}
		if flags == nil {
			return "", fmt.Errorf("listing the tests of %s: %w", p.name, err)
		}
	}
	return "", nil
}

// reaching are the tests that reach a fault.
func (p *program) reaching(number int) (tests []test) {
	for _, t := range p.tests {
		if t.reaches[number] {
			tests = append(tests, t)
		}
	}
	return tests
}

// rounds are tests in groups, the shortest tests first, each group four times as long as the one before: most faults are noticed
// by a short test, and so cost little.
func rounds(tests []test) (groups [][]test) {
	for limit := time.Second; len(tests) > 0; limit *= 4 {
		n := 1
		for takes := tests[0].takes; n < len(tests) && takes+tests[n].takes <= limit; n++ {
			takes += tests[n].takes
		}
		groups, tests = append(groups, tests[:n]), tests[n:]
	}
	return groups
}

// notices reports whether one of several tests notices a fault.
func (p *program) notices(ctx context.Context, number int, tests []test) bool {
	return slices.ContainsFunc(rounds(tests), func(round []test) bool { return p.fails(ctx, number, round) })
}

// fails reports whether one of several tests that run together fails with a fault, or takes far longer than without.
func (p *program) fails(ctx context.Context, number int, tests []test) bool {
	var names []string
	limit := 10 * time.Second
	for _, t := range tests {
		names = append(names, regexp.QuoteMeta(t.name))
		limit += 3 * t.takes
	}
	limited, cancel := context.WithTimeout(ctx, min(limit, longest))
	defer cancel()
	return p.start(limited, "^("+strings.Join(names, "|")+")$", "MUTANT="+strconv.Itoa(number)).Run() != nil
}
