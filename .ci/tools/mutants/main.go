// Command mutants plants small faults in a package, one at a time, and prints those that no test notices:
//
//	mutants [-files PATTERN] [-every N] PACKAGE [OTHER...]
//
// The faults are all compiled at once, each behind a switch that an environment variable throws, so that a fault costs the
// running of the tests that reach it and no building. They are tried with the tests of the package; what they let live is
// tried with those of the other packages, which rest on it.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"regexp"
	"sync"
	"sync/atomic"
	"syscall"
)

func main() {
	files := flag.String("files", "", "plant only in files whose name matches this pattern")
	every := flag.Int("every", 1, "plant only each fault of a file whose place in it, counted from 1, is a multiple of this")
	workers := flag.Int("workers", 1, "how many faults are tried at a time")
	flag.Parse()
	if flag.NArg() == 0 {
		flag.Usage()
		os.Exit(2)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := run(ctx, regexp.MustCompile(*files), max(*every, 1), *workers, flag.Arg(0), flag.Args()[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "mutants:", err)
		os.Exit(1)
	}
}

// outcome is what became of a fault.
type outcome int

const (
	untried outcome = iota // because the program was told to stop
	unreached
	lived
	noticed      // by a test of the package
	noticedAbove // by one of a package that rests on it
)

func run(ctx context.Context, files *regexp.Regexp, every, workers int, name string, others []string) error {
	scratch, err := os.MkdirTemp("", "mutants")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	p, err := load(ctx, name, files)
	if err != nil {
		return err
	}
	p.sample(every)
	var programs []*program
	for _, tested := range append([]string{name}, others...) {
		built, err := p.build(ctx, scratch, tested)
		if err != nil {
			return err
		}
		programs = append(programs, built)
	}
	for _, built := range programs {
		if err := built.learn(ctx, scratch); err != nil {
			return err
		}
	}
	outcomes := try(ctx, workers, len(p.faults), programs)
	report(p, outcomes)
	return ctx.Err()
}

// try plants each fault, whose numbers begin at 1.
func try(ctx context.Context, workers, faults int, programs []*program) []outcome {
	outcomes := make([]outcome, faults)
	var (
		next atomic.Int64
		done sync.WaitGroup
	)
	for range workers {
		done.Go(func() {
			for i := int(next.Add(1)); i <= faults && ctx.Err() == nil; i = int(next.Add(1)) {
				outcomes[i-1] = tryOne(ctx, i, programs)
			}
		})
	}
	done.Wait()
	return outcomes
}

func tryOne(ctx context.Context, number int, programs []*program) outcome {
	found := unreached
	for i, built := range programs {
		tests := built.reaching(number)
		if len(tests) == 0 {
			continue
		}
		notices := built.notices(ctx, number, tests)
		if ctx.Err() != nil {
			return untried
		}
		if notices {
			return noticed + outcome(min(i, 1))
		}
		found = lived
	}
	return found
}

// report prints what lives or is reached by no test, one fault a line, and the counts.
func report(p *pkg, outcomes []outcome) {
	var count [noticedAbove + 1]int
	for i, o := range outcomes {
		count[o]++
		f := p.faults[i]
		how := map[outcome]string{unreached: "not reached", lived: "lives"}[o]
		if how != "" {
			fmt.Printf("%s:%d:%d\t%s\t%s\t%s\n", f.name, f.pos.Line, f.pos.Column, f.kind, how, p.line(f))
		}
	}
	reached := len(outcomes) - count[untried] - count[unreached]
	fmt.Printf("%s: %d faults, %d of them not tried, %d reached by a test; %d noticed by tests of the package, %d more by others: %.1f %% of those reached\n",
		p.name, len(outcomes), count[untried], reached, count[noticed], count[noticedAbove], 100*float64(count[noticed]+count[noticedAbove])/float64(max(reached, 1)))
}
