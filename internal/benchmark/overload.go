package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"evenreach.example/internal/fhir/fhirtest"
)

// multiples of the capacity that are offered.
var multiples = []float64{0.5, 0.7, 0.9, 1, 1.5, 2, 3, 4}

// overload offers the service more and more requests, whether or not it keeps
// up, and shows what is answered, what is told to come back, and how long the
// answered ones wait.
func overload(ctx context.Context, s settings) error {
	p := path{"REST", serve, dialREST(restAddress, fhirtest.Bundle60())}
	server, err := launch(ctx, p, s)
	if err != nil {
		return err
	}
	defer server.stop()
	closed, err := load(p, s.seconds, s.callers)
	if err != nil {
		return err
	}
	capacity := closed.rate(s.seconds)
	heading(fmt.Sprintf("Overload: capacity %.0f a second on one core", capacity),
		"offered", "sent a second", "answered a second", "told to come back a second", "failed", "p50 ms of the answered", "p99 ms", "memory MB")
	for _, m := range multiples {
		o := offer(p, m*capacity, s.seconds)
		row(fmt.Sprintf("%.1f times", m), fmt.Sprintf("%.0f", float64(o.count()+o.refused+o.failed)/s.seconds.Seconds()),
			fmt.Sprintf("%.0f", o.rate(s.seconds)), fmt.Sprintf("%.0f", float64(o.refused)/s.seconds.Seconds()), fmt.Sprint(o.failed),
			fmt.Sprintf("%.1f", o.quantile(0.5)), fmt.Sprintf("%.1f", o.quantile(0.99)), fmt.Sprintf("%.0f", status(server.pid(), "VmRSS")))
	}
	return nil
}

// offered is what became of requests that were sent at a fixed rate.
type offered struct {
	result
	refused, failed int
}

// maxOpen bounds the requests that wait for an answer at a time; a caller that
// cannot send in time skips its turn, and the rate sent tells.
const maxOpen = 512

// offer sends requests at a rate for a time.
func offer(p path, rate float64, duration time.Duration) *offered {
	var (
		total offered
		lock  sync.Mutex
		group sync.WaitGroup
	)
	turns := make(chan time.Time)
	for range maxOpen {
		group.Go(func() {
			c, err := p.dial()
			if err != nil {
				return
			}
			defer c.close()
			for range turns {
				begun := time.Now()
				err := c.call()
				took := time.Since(begun)
				lock.Lock()
				total.add(err, took)
				lock.Unlock()
			}
		})
	}
	pace(turns, rate, duration)
	close(turns)
	group.Wait()
	slices.Sort(total.latencies)
	return &total
}

func (o *offered) add(err error, took time.Duration) {
	switch {
	case err == nil:
		o.latencies = append(o.latencies, took)
	case errors.Is(err, errBusy):
		o.refused++
	default:
		o.failed++
	}
}

// pace gives out turns at a rate, and drops those that nobody is free to take.
func pace(turns chan<- time.Time, rate float64, duration time.Duration) {
	begun := time.Now()
	given := 0
	for since := time.Duration(0); since < duration; since = time.Since(begun) {
		for ; float64(given) < rate*since.Seconds(); given++ {
			select {
			case turns <- begun:
			default:
			}
		}
		time.Sleep(time.Millisecond)
	}
}
