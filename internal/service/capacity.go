package service

import (
	"context"
	"runtime"
	"sync/atomic"
	"time"

	"evenreach.example/internal/fault"
)

// A gate is a semaphore.
type gate chan struct{}

// tryEnter takes a slot if one is free now, and reports whether it did.
func (g gate) tryEnter() bool {
	select {
	case g <- struct{}{}:
		return true
	default:
		return false
	}
}

// enter waits for a free slot.
func (g gate) enter(ctx context.Context) error {
	select {
	case g <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// leave frees a slot.
func (g gate) leave() { <-g }

// capacity decides which requests are answered when there are more than can be at a
// time. gRPC and REST share one.
type capacity struct {
	room       gate         // for requests that are read, answered or written: bounds their memory
	processors gate         // for requests that take a processor
	free       atomic.Int64 // when one was last free at once, in nanoseconds of Unix time
}

func newCapacity(maxConcurrent, processors int) *capacity {
	return &capacity{room: make(gate, maxConcurrent), processors: make(gate, processors)}
}

// enterRoom waits for a slot to read a request, at most as long as patience says.
func (c *capacity) enterRoom(ctx context.Context) error {
	if c.room.tryEnter() {
		return nil
	}
	return c.wait(ctx, c.room)
}

// enterProcessor waits for a slot to compute, at most as long as patience says. A
// request that gets one first yields to the others, so that they arrive here and their
// wait is measured; otherwise they would wait in the scheduler without a limit.
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

// How long a request waits before it is refused with Retry-After. A short burst may
// wait; a queue that has not been empty for longer than a burst lasts is overload, in
// which requests must not wait behind all that came before them.
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
