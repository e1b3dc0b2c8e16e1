package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"evenreach.example/internal/fhir/fhirtest"
)

// cores shows what the second core brings, in one process and to the command
// batch.
func cores(ctx context.Context, s settings) error {
	body := fhirtest.Bundle60()
	heading("Cores: 60 Observations, JSON to JSON", "way", "one core, a second", "two cores, a second", "gain")
	var inProcess, batch [2]float64
	for i := range inProcess {
		rate, err := parallel(body, i+1, s.seconds)
		if err != nil {
			return err
		}
		inProcess[i] = rate
	}
	lines, err := writeLines(body, int(inProcess[0]*s.seconds.Seconds()))
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(filepath.Dir(lines.path)) }()
	for i := range batch {
		if batch[i], err = lines.batch(ctx, s.binary, i+1); err != nil {
			return err
		}
	}
	for _, r := range []struct {
		name  string
		rates [2]float64
	}{{"in one process", inProcess}, {"the command batch, from a file", batch}} {
		row(r.name, fmt.Sprintf("%.0f", r.rates[0]), fmt.Sprintf("%.0f", r.rates[1]), fmt.Sprintf("%.2f", r.rates[1]/r.rates[0]))
	}
	fmt.Printf("\nThe command batch has %.0f %% of the rate in one process on one core, %.0f %% on two.\n", 100*batch[0]/inProcess[0], 100*batch[1]/inProcess[1])
	return nil
}

// parallel answers the body again and again on a number of cores and returns its rate.
func parallel(body []byte, cores int, duration time.Duration) (float64, error) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
	var (
		group sync.WaitGroup
		count atomic.Int64
		fault atomic.Pointer[error]
	)
	stop := time.Now().Add(duration)
	for range cores {
		group.Go(func() {
			w := &work{body: body, pipeline: newPipeline()}
			for time.Now().Before(stop) {
				if err := w.whole(); err != nil {
					fault.Store(&err)
					return
				}
				count.Add(1)
			}
		})
	}
	group.Wait()
	if err := fault.Load(); err != nil {
		return 0, *err
	}
	return float64(count.Load()) / duration.Seconds(), nil
}

// ndjson is a file of requests.
type ndjson struct {
	path string
	n    int
}

func writeLines(body []byte, n int) (*ndjson, error) {
	folder, err := os.MkdirTemp("", "benchmark")
	if err != nil {
		return nil, err
	}
	lines := &ndjson{filepath.Join(folder, "requests.ndjson"), n}
	return lines, os.WriteFile(lines.path, bytes.Repeat(append(bytes.Clone(body), '\n'), n), 0o600)
}

// batch is the rate at which the command answers the file, without the time it
// takes to start.
func (l *ndjson) batch(ctx context.Context, binary string, cores int) (float64, error) {
	empty := filepath.Join(filepath.Dir(l.path), "empty.ndjson")
	if err := os.WriteFile(empty, nil, 0o600); err != nil {
		return 0, err
	}
	start, err := timed(ctx, binary, cores, empty)
	if err != nil {
		return 0, err
	}
	whole, err := timed(ctx, binary, cores, l.path)
	return float64(l.n) / (whole - start).Seconds(), err
}

func timed(ctx context.Context, binary string, cores int, file string) (time.Duration, error) {
	command := exec.CommandContext(ctx, binary, "batch", file)
	command.Env = append(os.Environ(), fmt.Sprintf("GOMAXPROCS=%d", cores))
	begun := time.Now()
	err := command.Run()
	return time.Since(begun), err
}
