package service

import (
	"context"
	"time"

	"evenreach.example/internal/fault"
)

// A gate bounds how many do something at a time. Both doors share two: one for
// the requests that are read, answered or written at a time, which bounds their
// memory, and one for those that take a processor.
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

// enterSoon waits for room, for at most maxWait.
func (g gate) enterSoon(ctx context.Context) error {
	if g.tryEnter() {
		return nil
	}
	soon, cancel := context.WithTimeout(ctx, maxWait)
	defer cancel()
	if g.enter(soon) == nil {
		return nil
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return busy()
}

// maxWait is how long a request waits for a processor before it is told to come
// back. Who is answered under overload then waits little longer than this,
// instead of behind everybody who came before. A quarter of a second is common
// practice: longer than the largest request takes, and short beside Retry-After.
const maxWait = 250 * time.Millisecond

// leave makes room for the next.
func (g gate) leave() { <-g }

// busy refuses a request for which there is no room.
func busy() *fault.Errors {
	return fault.Refuse(fault.Unavailable, "", "the service answers as many requests as it can; repeat the request in a moment")
}
