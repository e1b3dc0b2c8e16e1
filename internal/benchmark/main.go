// Command benchmark measures Evenreach beside what it is compared with, in one
// run, and prints tables: the parts in one process by the processor time they
// take, then the running service on loopback, its growth with the input, and
// what it does under more load than it can carry.
//
// Machines are noisy: read the ratios, not the numbers.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"time"
)

// settings are what the flags say.
type settings struct {
	seconds time.Duration // for each path or row
	callers int
	binary  string // of the service
	self    string // of this command, for comparators
}

// section is one table.
type section struct {
	name string
	run  func(context.Context, settings) error
}

// sections in the order in which they are printed.
var sections = []section{
	{"parts", parts},
	{"others", others},
	{"service", served},
	{"growth", growth},
	{"limits", limits},
	{"cores", cores},
	{"overload", overload},
}

func main() {
	role := flag.String("role", "", "serve as a comparator: noop, decode or jsonformat (used by the command itself)")
	seconds := flag.Int("seconds", 5, "how long to measure each row")
	callers := flag.Int("callers", 4, "number of concurrent callers")
	only := flag.String("only", "", "sections to run, separated by commas: "+names())
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	var err error
	if *role != "" {
		err = serveComparator(*role)
	} else {
		err = run(ctx, settings{seconds: time.Duration(*seconds) * time.Second, callers: *callers}, *only)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "benchmark:", err)
		os.Exit(1)
	}
}

func names() string {
	var all []string
	for _, s := range sections {
		all = append(all, s.name)
	}
	return strings.Join(all, ", ")
}

func run(ctx context.Context, s settings, only string) error {
	chosen, err := choose(only)
	if err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "benchmark")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(folder) }()
	if s.binary, err = build(ctx, folder); err != nil {
		return err
	}
	if s.self, err = os.Executable(); err != nil {
		return err
	}
	fmt.Println(machine())
	for _, section := range chosen {
		if err := section.run(ctx, s); err != nil {
			return fmt.Errorf("%s: %w", section.name, err)
		}
	}
	return nil
}

func choose(only string) ([]section, error) {
	if only == "" {
		return sections, nil
	}
	var chosen []section
	for name := range strings.SplitSeq(only, ",") {
		found := false
		for _, s := range sections {
			if s.name == name {
				chosen, found = append(chosen, s), true
			}
		}
		if !found {
			return nil, fmt.Errorf("no section %q; there are: %s", name, names())
		}
	}
	return chosen, nil
}
