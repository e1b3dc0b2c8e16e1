package service

import (
	"context"

	"evenreach.example/internal/fault"
)

// A gate bounds how many requests are answered at a time, and with that the
// memory they take. Both doors share one.
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

// busy refuses a request for which there is no room.
func busy() *fault.Errors {
	return fault.Refuse(fault.Unavailable, "", "the service answers as many requests as it can; repeat the request in a moment")
}
