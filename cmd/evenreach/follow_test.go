package main

import (
	"context"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"evenreach.example/internal/ops"
)

// Readiness goes and comes with the keys, and does not come back after a drain.
func TestReadinessFollowsTheKeys(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, stop := context.WithCancel(t.Context())
		var usable atomic.Bool
		health, done := ops.NewHealth(), make(chan struct{})
		go func() {
			defer close(done)
			follow(ctx, health, usable.Load)
		}()
		for _, there := range []bool{true, false, true} {
			usable.Store(there)
			time.Sleep(2 * keysInterval)
			synctest.Wait()
			if health.Ready() != there {
				t.Errorf("keys are there: %v, ready: %v, want the same", there, health.Ready())
			}
		}
		stop()
		<-done
	})
}
