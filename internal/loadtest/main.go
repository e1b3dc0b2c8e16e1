// Command loadtest measures the running service on loopback, one core for the
// server and one for the callers, against comparators in the same run: a
// handler that does nothing but read and tokenise the body and write a response
// of the same size, one that decodes with jsonformat, and one that also encodes
// with it.
//
// The machine is noisy: read the ratios, not the numbers.
package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"evenreach.example/internal/fhir/fhirtest"
)

func main() {
	role := flag.String("role", "", "serve as a comparator: noop, decode or jsonformat (used by the command itself)")
	seconds := flag.Int("seconds", 5, "how long to measure each path")
	callers := flag.Int("callers", 4, "number of concurrent callers")
	flag.Parse()
	var err error
	if *role != "" {
		err = serveComparator(*role)
	} else {
		err = measureAll(time.Duration(*seconds)*time.Second, *callers)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "loadtest:", err)
		os.Exit(1)
	}
}

// path is one way to ask.
type path struct {
	name  string
	start func(binary, self string) *exec.Cmd
	dial  func() (caller, error)
}

// caller sends one request and waits for its answer.
type caller interface {
	call() error
	close()
}

func measureAll(duration time.Duration, callers int) error {
	folder, err := os.MkdirTemp("", "loadtest")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(folder) }()
	binary := filepath.Join(folder, "evenreach")
	if out, err := exec.CommandContext(context.Background(), "go", "build", "-o", binary, "./cmd/evenreach").CombinedOutput(); err != nil {
		return fmt.Errorf("build: %w\n%s", err, out)
	}
	self, err := os.Executable()
	if err != nil {
		return err
	}
	body := fhirtest.Bundle60()
	fmt.Printf("Bundle of 60 Observations, %d bytes; %d callers, %v a path, one core each side\n\n", len(body), callers, duration)
	fmt.Println("| path | requests a second | p50 ms | p99 ms | errors | peak memory MB |")
	fmt.Println("|---|---|---|---|---|---|")
	for _, p := range paths(body) {
		if err := measure(p, binary, self, duration, callers); err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
	}
	return nil
}

func measure(p path, binary, self string, duration time.Duration, callers int) error {
	server := p.start(binary, self)
	server.Env = append(os.Environ(), "GOMAXPROCS=1")
	if err := server.Start(); err != nil {
		return err
	}
	defer func() { _ = server.Process.Kill(); _ = server.Wait() }()
	if err := waitReady(p); err != nil {
		return err
	}
	r, err := load(p, duration, callers)
	if err != nil {
		return err
	}
	fmt.Printf("| %s | %.0f | %.2f | %.2f | %d | %d |\n", p.name,
		float64(r.count())/duration.Seconds(), r.quantile(0.50), r.quantile(0.99), r.errors, peakMemory(server.Process.Pid))
	return nil
}
