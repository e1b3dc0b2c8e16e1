//go:build resilience

package resilience

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

var (
	kills  = flag.Int("kills", 9, "how often a replica is killed in TestKilledReplicasLoseNothing")
	sentOn = flag.Int("sent-on", 4, "how many scenarios, the shortest answers first, have their answers sent on to a record, which is slow")
)

// traffic is callers who go through the scenarios again and again, and insist.
type traffic struct {
	scenarios []scenario // the shortest answers first

	answers  atomic.Int64
	mu       sync.Mutex
	failures map[string]int
	wrong    []string

	sending chan []byte // answers on their way to a record; nil for none
	sent    atomic.Int64
}

// callersEach is how many callers there are by each door.
const callersEach = 4

// begin lets the callers go until stop, which returns when they were answered.
func (f *traffic) begin(t *testing.T, p *proxy) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Minute)
	ended := make(chan struct{})
	var group sync.WaitGroup
	for n := range callersEach {
		for _, ask := range []caller{restCaller(t, p.REST), grpcCaller(t, p.GRPC)} {
			group.Go(func() { f.call(ctx, ended, ask, n) })
		}
	}
	return sync.OnceFunc(func() {
		close(ended)
		group.Wait()
		cancel()
	})
}

// call asks until the end. The answer to a scenario that is sent on is sent on
// if it is the caller's first, or was had with difficulty.
func (f *traffic) call(ctx context.Context, ended chan struct{}, ask caller, start int) {
	for n := 0; ; n++ {
		select {
		case <-ended:
			return
		default:
		}
		i := (start*5 + n) % len(f.scenarios)
		s := f.scenarios[i]
		answer, failures, err := insistent(ctx, ask, s.input)
		f.note(s, answer, failures, err)
		if f.sending != nil && i < *sentOn && (n < len(f.scenarios) || len(failures) > 0) {
			f.sending <- answer
		}
	}
}

// sendOn sends answers to the record until there are no more.
func (f *traffic) sendOn(ctx context.Context, r *record) {
	for answer := range f.sending {
		if err := r.post(ctx, answer); err != nil {
			f.fail("sent on: " + err.Error())
		}
		f.sent.Add(1)
	}
}

func (f *traffic) note(s scenario, answer []byte, failures []string, err error) {
	switch {
	case err != nil:
		f.fail(fmt.Sprintf("%s: %v", s.name, err))
	case !bytes.Equal(answer, s.answer):
		f.fail(fmt.Sprintf("%s: another answer, of %d bytes, want %d", s.name, len(answer), len(s.answer)))
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	for _, failure := range failures {
		f.failures[failure]++
	}
	f.answers.Add(1)
}

func (f *traffic) fail(what string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.wrong = append(f.wrong, what)
}

// more waits for that many more answers.
func (f *traffic) more(t *testing.T, n int64) {
	t.Helper()
	want := f.answers.Load() + n
	eventually(t, "more answers", func() bool { return f.answers.Load() >= want })
}

// right wants every answer to have been the right one.
func (f *traffic) right(t *testing.T) {
	t.Helper()
	f.mu.Lock()
	defer f.mu.Unlock()
	if len(f.wrong) > 0 {
		t.Errorf("%d failures, of them the first: %.1000s", len(f.wrong), f.wrong[0])
	}
}

// three replicas that are ready.
func three(t *testing.T, flags ...string) (replicas []*replica) {
	t.Helper()
	for range 3 {
		replicas = append(replicas, run(t, flags...))
	}
	return replicas
}

// serving wants a replica to answer callers by both doors again.
func serving(t *testing.T, r *replica) {
	t.Helper()
	for _, answered := range []string{`evenreach_answer_duration_seconds_count{door="http"}`, `evenreach_answer_duration_seconds_count{door="grpc"}`} {
		eventually(t, "the replica answers again", func() bool { return r.metric(answered) > 0 })
	}
}

// Replicas are killed while they answer. Callers who ask again get the answer
// that any replica gives, and a record that is sent it again and again stores
// it once.
func TestKilledReplicasLoseNothing(t *testing.T) {
	t.Parallel()
	replicas := three(t)
	p := startProxy(t, replicas)
	f, r := &traffic{scenarios: scenarios(t), failures: map[string]int{}, sending: make(chan []byte, 1000)}, startRecord(t)
	var sending sync.WaitGroup
	for range 2 {
		sending.Go(func() { f.sendOn(t.Context(), r) })
	}
	stop := f.begin(t, p)
	defer stop()
	for n := range *kills {
		victim := replicas[n%len(replicas)]
		f.more(t, 50)
		victim.kill()
		f.more(t, 20) // without it
		victim.start()
		victim.ready()
		serving(t, victim)
	}
	stop()
	close(f.sending)
	sending.Wait()
	f.right(t)
	retries := 0
	for _, times := range f.failures {
		retries += times
	}
	if retries == 0 {
		t.Error("no request was interrupted, so that nothing was tried")
	}
	for _, replica := range replicas {
		replica.noDefects()
	}
	want, all := stored(t, f.scenarios[:*sentOn]), 0
	for resourceType, n := range want {
		all += n
		if resources, versions := r.holds(t, resourceType); resources != n || versions != n {
			t.Errorf("the record holds %d of %s in %d versions, want %d of each", resources, resourceType, versions, n)
		}
	}
	t.Logf("%d kills; %d requests, all answered, after %d retries %v; the proxy connected anew %d times; %d transactions sent to the record, which holds %d resources, one version each",
		*kills, f.answers.Load(), retries, f.failures, p.sum("wretr"), f.sent.Load(), all)
}

// A rollout behind a proxy that asks /readyz costs no caller a second attempt.
func TestRolloutIsNotNoticed(t *testing.T) {
	replicas := three(t, "--drain-delay=2s")
	p := startProxy(t, replicas)
	f := &traffic{scenarios: scenarios(t), failures: map[string]int{}}
	stop := f.begin(t, p)
	defer stop()
	for _, r := range replicas {
		f.more(t, 50)
		r.terminate()
		r.start()
		r.ready()
		serving(t, r)
	}
	stop()
	f.right(t)
	if len(f.failures) > 0 {
		t.Errorf("callers had to ask again: %v", f.failures)
	}
	t.Logf("%d replicas replaced; %d requests, all answered at the first attempt", len(replicas), f.answers.Load())
}
