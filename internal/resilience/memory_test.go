//go:build resilience

package resilience

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"sync"
	"sync/atomic"
	"testing"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health/grpc_health_v1"

	"evenreach.example/internal/resilience/keepalive"
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

// Memory follows the limit and not the processors of the machine, also for answers with
// PDF and chart, which take the most.
func TestMemoryOnALargeMachine(t *testing.T) {
	t.Parallel()
	const callers, each = 128, 3
	r := newReplica(t)
	r.env = []string{"GOMEMLIMIT=128MiB", "GOMAXPROCS=64"}
	r.start()
	r.ready()
	input := scenarios(t)[0].input
	var answered, turnedAway atomic.Int64
	var group sync.WaitGroup
	for range callers {
		group.Go(func() {
			caller := keepalive.Caller{Address: r.HTTP}
			defer caller.Close()
			for range each {
				switch status, _, err := caller.Post(context.Background(), operation+"?documents=true", input); {
				case err != nil:
					t.Errorf("no answer: %v", err)
				case status == http.StatusOK:
					answered.Add(1)
				case status == http.StatusServiceUnavailable:
					turnedAway.Add(1)
				default:
					t.Errorf("status %d, want 200 or 503", status)
				}
			}
		})
	}
	group.Wait()
	r.lives()
	peak := r.memory("VmHWM")
	if answered.Load() == 0 || peak > podLimit {
		t.Errorf("%d answered, peak of memory %.0f MiB, want some and at most %d MiB", answered.Load(), peak, podLimit)
	}
	t.Logf("64 processors: %d answers with documents, %d turned away, peak of memory %.0f MiB", answered.Load(), turnedAway.Load(), peak)
}

// Callers without a token who connect and watch the health, as many as they can.
func TestWatchersWithoutAToken(t *testing.T) {
	t.Parallel()
	const connections, watches = 200, 128
	r := guarded(t, startIssuer(t))
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var watching, refused atomic.Int64
	var group sync.WaitGroup
	for range connections {
		conn, err := grpc.NewClient(r.GRPC, grpc.WithTransportCredentials(insecure.NewCredentials()))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = conn.Close() })
		for range watches {
			group.Go(func() {
				stream, err := grpc_health_v1.NewHealthClient(conn).Watch(ctx, &grpc_health_v1.HealthCheckRequest{})
				if err == nil {
					_, err = stream.Recv()
				}
				if err != nil {
					refused.Add(1)
					return
				}
				watching.Add(1)
			})
		}
	}
	group.Wait()
	peak := r.memory("VmHWM")
	if watching.Load() != 1000 || watching.Load()+refused.Load() != connections*watches || peak > podLimit {
		t.Errorf("%d watch, %d refused, peak of memory %.0f MiB, want 1000, the rest and at most %d MiB", watching.Load(), refused.Load(), peak, podLimit)
	}
	r.lives()
	t.Logf("%d connections with %d watches each: %d watch, peak of memory %.0f MiB", connections, watches, watching.Load(), peak)
}
