package main

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"time"
)

// result is what the callers saw.
type result struct {
	latencies []time.Duration
	errors    int
}

func (r *result) count() int { return len(r.latencies) }

// quantile is a latency in milliseconds.
func (r *result) quantile(q float64) float64 {
	if len(r.latencies) == 0 {
		return 0
	}
	at := min(int(q*float64(len(r.latencies))), len(r.latencies)-1)
	return float64(r.latencies[at].Microseconds()) / 1000
}

// load runs the callers for a time, after a short warm-up.
func load(p path, duration time.Duration, callers int) (*result, error) {
	if _, err := run(p, duration/5, callers); err != nil {
		return nil, err
	}
	r, err := run(p, duration, callers)
	if err == nil {
		slices.Sort(r.latencies)
	}
	return r, err
}

func run(p path, duration time.Duration, callers int) (*result, error) {
	var (
		total result
		lock  sync.Mutex
		group sync.WaitGroup
	)
	stop := time.Now().Add(duration)
	for range callers {
		c, err := p.dial()
		if err != nil {
			return nil, err
		}
		group.Go(func() {
			defer c.close()
			own := callUntil(c, stop)
			lock.Lock()
			defer lock.Unlock()
			total.latencies = append(total.latencies, own.latencies...)
			total.errors += own.errors
		})
	}
	group.Wait()
	return &total, nil
}

func callUntil(c caller, stop time.Time) (r result) {
	for start := time.Now(); start.Before(stop); start = time.Now() {
		if err := c.call(); err != nil {
			r.errors++
			continue
		}
		r.latencies = append(r.latencies, time.Since(start))
	}
	return r
}

// waitReady calls until an answer comes, for at most ten seconds.
func waitReady(p path) error {
	var last error
	for range 200 {
		c, err := p.dial()
		if err == nil {
			err = c.call()
			c.close()
		}
		if err == nil {
			return nil
		}
		last = err
		time.Sleep(50 * time.Millisecond)
	}
	return fmt.Errorf("not ready: %w", last)
}

// peakMemory reads the high-water mark of a process from the kernel, in MB.
func peakMemory(pid int) int {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(text)) {
		var kilobytes int
		if _, err := fmt.Sscanf(line, "VmHWM: %d kB", &kilobytes); err == nil {
			return kilobytes / 1024
		}
	}
	return 0
}
