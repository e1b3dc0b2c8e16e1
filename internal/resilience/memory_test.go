//go:build resilience

package resilience

import (
	"bytes"
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
)

// podLimit is the memory limit of the base in deploy/kubernetes, in MiB.
const podLimit = 256

// Where memory is scarce the service answers what it can, turns the others
// away, and lives on.
func TestLittleMemory(t *testing.T) {
	t.Parallel()
	const callers, each = 300, 4 // more at a time than the 128 that are answered
	tests := []struct {
		name, limit string
	}{
		{"as in the base", "128MiB"},
		{"less than it needs", "48MiB"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := newReplica(t)
			r.env = []string{"GOMEMLIMIT=" + tt.limit}
			r.start()
			r.ready()
			all := scenarios(t)
			var answered, turnedAway atomic.Int64
			var group sync.WaitGroup
			for n := range callers {
				ask := restCaller(t, r.HTTP)
				group.Go(func() {
					for i := range each {
						s := all[(n+i)%len(all)]
						switch answer, err := ask(context.Background(), s.input); {
						case errors.Is(err, again{"REST: 503"}):
							turnedAway.Add(1)
						case err != nil || !bytes.Equal(answer, s.answer):
							t.Errorf("%s: error %v, %d bytes, want the answer or 503", s.name, err, len(answer))
						default:
							answered.Add(1)
						}
					}
				})
			}
			group.Wait()
			r.lives()
			r.noDefects()
			peak := r.memory("VmHWM")
			if answered.Load() == 0 || peak > podLimit {
				t.Errorf("%d answered, peak of memory %.0f MiB, want some and at most %d MiB", answered.Load(), peak, podLimit)
			}
			t.Logf("GOMEMLIMIT %s: %d answered, %d turned away with 503, peak of memory %.0f MiB", tt.limit, answered.Load(), turnedAway.Load(), peak)
		})
	}
}
