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
	long       gate         // for those of them with long bodies
	free       atomic.Int64 // when one was last free at once, in nanoseconds of Unix time
	freeLong   atomic.Int64 // the same of those for long bodies
}

func newCapacity(maxConcurrent, processors int) *capacity {
	return &capacity{room: make(gate, maxConcurrent), processors: make(gate, processors), long: make(gate, max(1, processors/2))}
}

// longBody is from how many bytes on a body is long: one that takes more than some ten milliseconds to answer
// whatever is in it. A record of 300 Observations has less.
//
// Source: ours: internal/benchmark/REPORT.md, limits.
const longBody = 512 << 10

// lane is the gate of requests with bodies of a size. Long ones have one of their own, with half as many slots, so that
// however many of them there are, processors are left for the others: each of these is short, and Go's scheduler
// gives it its turn beside a long one.
func (c *capacity) lane(size int) gate {
	if size >= longBody {
		return c.long
	}
	return c.processors
}

// enterRoom waits for a slot to read a request, at most as long as patience says.
func (c *capacity) enterRoom(ctx context.Context) error {
	if c.room.tryEnter() {
		return nil
	}
	return c.wait(ctx, c.room)
}

// enterProcessor waits for a slot to compute a request with a body of a size, at most as long
// as patience says, and returns the gate to leave. A request that gets one first yields to the others, so that they
// arrive here and their wait is measured; otherwise they would wait in the scheduler without a limit.
func (c *capacity) enterProcessor(ctx context.Context, size int) (gate, error) {
	lane := c.lane(size)
	if lane.tryEnter() {
		c.lastFree(lane).Store(time.Now().UnixNano())
	} else if err := c.wait(ctx, lane); err != nil {
		return nil, err
	}
	runtime.Gosched()
	return lane, nil
}

func (c *capacity) wait(ctx context.Context, g gate) error {
	soon, cancel := context.WithTimeout(ctx, c.patience(g, time.Now()))
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

// lastFree is when a slot was last free at once: of long bodies, or of all others.
func (c *capacity) lastFree(g gate) *atomic.Int64 {
	if g == c.long {
		return &c.freeLong
	}
	return &c.free
}

// patience is how long a request waits at a gate now.
func (c *capacity) patience(g gate, now time.Time) time.Duration {
	if now.UnixNano()-c.lastFree(g).Load() > int64(burst) {
		return underOverload
	}
	return inBurst
}

// busy refuses a request for which there is no room.
func busy() *fault.Errors {
	return fault.Refuse(fault.Unavailable, "", "the service answers as many requests as it can; repeat the request in a moment")
}
