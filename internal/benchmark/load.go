package main

import (
	"slices"
	"sync"
	"time"
)

// result is what the callers saw.
type result struct {
	latencies []time.Duration
	errors    int
}

func (r *result) count() int { return len(r.latencies) }

// rate is the number of answers a second.
func (r *result) rate(d time.Duration) float64 { return float64(r.count()) / d.Seconds() }

// quantile is a latency in milliseconds.
func (r *result) quantile(q float64) float64 {
	if len(r.latencies) == 0 {
		return 0
	}
	at := min(int(q*float64(len(r.latencies))), len(r.latencies)-1)
	return float64(r.latencies[at].Microseconds()) / 1000
}

// load runs the callers for a time, each as fast as it is answered.
func load(p path, duration time.Duration, callers int) (*result, error) {
	var (
		total result
		lock  sync.Mutex
		group sync.WaitGroup
	)
	defer group.Wait()
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
	slices.Sort(total.latencies)
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
