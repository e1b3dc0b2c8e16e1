//go:build resilience

package resilience

import (
	"bytes"
	"errors"
	"net/http"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"evenreach.example/internal/resilience/keepalive"
)

// patient are callers by REST who keep their connections through a proxy that knows
// only connections, and never ask again.
type patient struct {
	proxy           *proxy
	scenarios       []scenario
	others          map[string][]byte // answers that are right as well, by the name of the scenario
	answered, away  atomic.Int64
	lost            atomic.Int64
	wrong, overload atomic.Int64
}

// begin lets callers go until stop.
func (f *patient) begin(t *testing.T, callers int) (stop func()) {
	t.Helper()
	var group sync.WaitGroup
	ended := make(chan struct{})
	for n := range callers {
		group.Go(func() {
			caller := keepalive.Caller{Address: f.proxy.Connections}
			defer caller.Close()
			for i := n; ; i++ {
				select {
				case <-ended:
					return
				case <-time.After(5 * time.Millisecond): // so that connections are idle at times
				}
				s := f.scenarios[i%len(f.scenarios)]
				status, answer, err := caller.Post(t.Context(), operation, s.input)
				switch {
				case errors.Is(err, keepalive.ErrLost):
					f.lost.Add(1)
				case err != nil:
					f.away.Add(1)
				case status == http.StatusServiceUnavailable:
					f.overload.Add(1)
				case status != http.StatusOK || !bytes.Equal(answer, s.answer) && !bytes.Equal(answer, f.others[s.name]):
					f.wrong.Add(1)
				default:
					f.answered.Add(1)
				}
			}
		})
	}
	return sync.OnceFunc(func() {
		close(ended)
		group.Wait()
	})
}

// more waits for that many more answers.
func (f *patient) more(t *testing.T, n int64) {
	t.Helper()
	want := f.answered.Load() + n
	eventually(t, "more answers", func() bool { return f.answered.Load() >= want })
}

// A rollout behind a Service, which knows only connections, loses no request of callers
// who keep theirs and never ask again.
func TestRolloutBehindConnections(t *testing.T) {
	replicas := three(t, "--drain-delay=2s", "--max-connection-age=1s")
	f := &patient{proxy: startProxy(t, replicas), scenarios: scenarios(t)}
	stop := f.begin(t, 8)
	defer stop()
	for range 3 {
		for _, r := range replicas {
			f.more(t, 100)
			r.terminate()
			r.start()
			r.ready()
			eventually(t, "the replica has callers again", func() bool { return r.metric(`evenreach_answer_duration_seconds_count{door="http"}`) > 0 })
		}
	}
	stop()
	if f.lost.Load() > 0 || f.wrong.Load() > 0 || f.away.Load() > 0 {
		t.Errorf("%d requests lost on kept connections, %d on new ones, %d wrong answers, want none", f.lost.Load(), f.away.Load(), f.wrong.Load())
	}
	t.Logf("9 restarts; %d answered, %d told to come back, %d lost", f.answered.Load(), f.overload.Load(), f.lost.Load())
}

// A new replica gets its share of callers who are connected to the others already.
func TestNewReplicaGetsCallers(t *testing.T) {
	replicas := three(t, "--max-connection-age=2s")
	p := startProxy(t, replicas)
	newcomer := replicas[2]
	newcomer.terminate()
	eventually(t, "the proxy misses a replica", func() bool { return p.count("status", "DOWN") == 3 })
	f := &patient{proxy: p, scenarios: scenarios(t)}
	stop := f.begin(t, 8)
	defer stop()
	f.more(t, 100)
	newcomer.start()
	newcomer.ready()
	eventually(t, "the new replica answers callers who were there before", func() bool {
		return newcomer.metric(`evenreach_answer_duration_seconds_count{door="http"}`) >= 50
	})
	stop()
	if f.lost.Load() > 0 || f.wrong.Load() > 0 {
		t.Errorf("%d requests lost, %d wrong answers, want none", f.lost.Load(), f.wrong.Load())
	}
}
