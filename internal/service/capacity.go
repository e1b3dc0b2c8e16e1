package service

import (
	"context"
	"runtime"
	"sync/atomic"
	"time"

	"evenreach.example/internal/fault"
)

// A gate bounds how many do something at a time.
type gate chan struct{}

// tryEnter reports whether there is room now.
func (g gate) tryEnter() bool {
	select {
	case g <- struct{}{}:
		return true
	default:
		return false
	}
}

// enter waits for room.
func (g gate) enter(ctx context.Context) error {
	select {
	case g <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// leave makes room for the next.
func (g gate) leave() { <-g }

// capacity says who is answered when not everybody can be at once. Both doors
// share one.
type capacity struct {
	room       gate         // for requests that are read, answered or written: bounds their memory
	processors gate         // for requests that take a processor
	free       atomic.Int64 // when one was last free at once, in nanoseconds of Unix time
}

func newCapacity(maxConcurrent int) *capacity {
	return &capacity{room: make(gate, maxConcurrent), processors: make(gate, runtime.GOMAXPROCS(0))}
}

// enterRoom waits for room to read a request, while patience lasts.
func (c *capacity) enterRoom(ctx context.Context) error {
	if c.room.tryEnter() {
		return nil
	}
	return c.wait(ctx, c.room)
}

// enterProcessor waits for a processor, while patience lasts. Whoever gets one
// first lets the others come as far as this: else they would queue unseen in
// the scheduler, for as long as they please.
func (c *capacity) enterProcessor(ctx context.Context) error {
	if c.processors.tryEnter() {
		c.free.Store(time.Now().UnixNano())
	} else if err := c.wait(ctx, c.processors); err != nil {
		return err
	}
	runtime.Gosched()
	return nil
}

func (c *capacity) wait(ctx context.Context, g gate) error {
	soon, cancel := context.WithTimeout(ctx, c.patience(time.Now()))
	defer cancel()
	if g.enter(soon) == nil {
		return nil
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return busy()
}

// How long a request waits before it is told to come back. A burst is waited
// for; a queue that has stood since the burst should have been over is overload,
// in which whoever is answered must not wait behind everybody who came before.
//
// Source: the idea is Maurer 2015, Fail at Scale, ACM Queue 13(8), from memory;
// the figures are common practice: short beside Retry-After, and under overload
// the time of some forty requests.
const (
	burst         = time.Second
	inBurst       = 250 * time.Millisecond
	underOverload = 50 * time.Millisecond
)

// patience is how long a request waits now.
func (c *capacity) patience(now time.Time) time.Duration {
	if now.UnixNano()-c.free.Load() > int64(burst) {
		return underOverload
	}
	return inBurst
}

// busy refuses a request for which there is no room.
func busy() *fault.Errors {
	return fault.Refuse(fault.Unavailable, "", "the service answers as many requests as it can; repeat the request in a moment")
}
