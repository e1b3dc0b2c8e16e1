//go:build resilience

package resilience

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

var soak = flag.Duration("soak", 20*time.Second, "how long TestSoak goes on")

const (
	windows = 20 // rows of the table
	samples = 10 // a window
	// share of what the service can answer at most, and share of hostile
	// callers in it. Common practice: below the knee, with some noise.
	shareOfCapacity, shareOfHostiles = 0.7, 0.05
	// workers ask at a time; more than the load needs.
	workers = 32
)

// What may be found to grow from the end of the first third, when every buffer
// has been used, to the end. That nothing may grow without an end is common
// practice; the numbers are some three times the largest that was measured
// without a leak, in runs of 20 s to 3 min on a busy machine, and a leak in any
// one kind of request is far above them in 20 minutes: each kind of hostile
// caller alone comes a thousand times.
var allowed = map[string]float64{
	"resident memory, MiB": 16,
	"live heap, MiB":       8,
	"goroutines":           20,
	"open descriptors":     20,
}

// window is what was seen in one row of the table.
type window struct {
	latencies                     []time.Duration
	resident, heap, routines, fds []float64
}

// soaking is a run of load on one replica.
type soaking struct {
	r         *replica
	scenarios []scenario
	asks      []caller

	mu        sync.Mutex
	current   *window
	wrong     []string
	acts      map[string]int
	answered  int
	shed      int
	late      atomic.Int64 // requests that were not sent, because every caller was busy at their time
	misbehave sync.WaitGroup
}

// capacity is how many requests a second are answered when all workers ask all
// the time.
func (s *soaking) capacity(ctx context.Context, duration time.Duration) float64 {
	var group sync.WaitGroup
	var answers atomic.Int64
	end := time.Now().Add(duration)
	for n := range 8 {
		group.Go(func() {
			for i := n; time.Now().Before(end); i++ {
				s.ask(ctx, n, s.scenarios[i%len(s.scenarios)], time.Now())
				answers.Add(1)
			}
		})
	}
	group.Wait()
	return float64(answers.Load()) / duration.Seconds()
}

// load sends requests at a rate until the end.
func (s *soaking) load(ctx context.Context, rate float64, duration time.Duration) {
	due := make(chan time.Time, workers)
	var group sync.WaitGroup
	for n := range workers {
		group.Go(func() {
			random := rand.New(rand.NewPCG(1, uint64(n)))
			for at := range due {
				with := s.scenarios[random.IntN(len(s.scenarios))]
				if random.Float64() < shareOfHostiles {
					h := hostiles[random.IntN(len(hostiles))]
					own := rand.New(rand.NewPCG(random.Uint64(), 0))
					s.misbehave.Go(func() { s.noteHostile(h.name, h.act(ctx, s.r, with, own)) })
					continue
				}
				s.ask(ctx, n, with, at)
			}
		})
	}
	begin := time.Now()
	for sent := 0; ; sent++ {
		at := begin.Add(time.Duration(float64(sent) / rate * float64(time.Second)))
		if at.Sub(begin) > duration {
			break
		}
		time.Sleep(time.Until(at))
		select {
		case due <- at:
		default:
			s.late.Add(1)
		}
	}
	close(due)
	group.Wait()
	s.misbehave.Wait()
}

// ask asks once. The time counts from when the request was due.
func (s *soaking) ask(ctx context.Context, n int, with scenario, due time.Time) {
	answer, err := s.asks[n%len(s.asks)](ctx, with.input)
	took := time.Since(due)
	s.mu.Lock()
	defer s.mu.Unlock()
	_, turnedAway := errors.AsType[again](err)
	switch {
	case turnedAway:
		s.shed++
	case err != nil || !bytes.Equal(answer, with.answer):
		s.wrong = append(s.wrong, fmt.Sprintf("%s: %d bytes, error %v", with.name, len(answer), err))
	default:
		s.answered++
		s.current.latencies = append(s.current.latencies, took)
	}
}

func (s *soaking) noteHostile(name string, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.acts[name]++
	if err != nil {
		s.wrong = append(s.wrong, name+": "+err.Error())
	}
}

// watch samples the process and gives the windows of a run.
func (s *soaking) watch(duration time.Duration) (all []*window) {
	begin := time.Now()
	for n := range windows {
		for end := begin.Add(duration * time.Duration(n+1) / windows); ; {
			s.sample()
			if time.Now().After(end) {
				break
			}
			time.Sleep(min(time.Until(end), duration/(windows*samples)))
		}
		s.mu.Lock()
		all = append(all, s.current)
		s.current = &window{}
		s.mu.Unlock()
	}
	return all
}

func (s *soaking) sample() {
	_, text := s.r.get("/metrics")
	resident := s.r.memory("VmRSS")
	s.mu.Lock()
	defer s.mu.Unlock()
	w := s.current
	w.resident = append(w.resident, resident)
	w.heap = append(w.heap, sumOf(text, "go_gc_heap_live_bytes ")/(1<<20))
	w.routines = append(w.routines, sumOf(text, "go_goroutines "))
	w.fds = append(w.fds, sumOf(text, "process_open_fds "))
}

func quantile(latencies []time.Duration, q float64) float64 {
	if len(latencies) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(latencies))
	return float64(sorted[int(q*float64(len(sorted)-1))].Microseconds()) / 1000
}

// table writes the windows for a person to read.
func table(all []*window, length time.Duration) string {
	var b strings.Builder
	fmt.Fprintf(&b, "| window of %v | answers | p50 ms | p99 ms | resident MiB | live heap MiB | goroutines | descriptors |\n|---|---|---|---|---|---|---|---|\n", length)
	for n, w := range all {
		fmt.Fprintf(&b, "| %d | %d | %.2f | %.2f | %.0f | %.1f | %.0f | %.0f |\n", n+1, len(w.latencies),
			quantile(w.latencies, 0.5), quantile(w.latencies, 0.99), slices.Max(w.resident), slices.Min(w.heap), slices.Min(w.routines), slices.Min(w.fds))
	}
	return b.String()
}

// Under load that goes on, with hostile callers in it, nothing grows, every
// sound request gets its answer, and nothing is left when the callers are gone.
func TestSoak(t *testing.T) {
	r := newReplica(t)
	r.env = []string{"GOMEMLIMIT=128MiB"} // as in the base
	r.start()
	r.ready()
	s := &soaking{r: r, scenarios: scenarios(t), current: &window{}, acts: map[string]int{}}
	t.Run("load", func(t *testing.T) { // its callers' connections end with it
		answersAll(t, s.r)
		for n := range 8 {
			s.asks = append(s.asks, restCaller(t, s.r.HTTP))
			if n%4 == 0 { // the client of gRPC is the dearer one
				s.asks = append(s.asks, grpcCaller(t, s.r.GRPC))
			}
		}
		s.run(t)
	})
	s.atRest(t)
	s.r.lives()
	s.r.noDefects()
	if peak := s.r.memory("VmHWM"); peak > podLimit {
		t.Errorf("the peak of memory was %.0f MiB, want at most %d", peak, podLimit)
	}
	if len(s.wrong) > 0 {
		t.Errorf("%d wrong answers, of them the first: %.1000s", len(s.wrong), s.wrong[0])
	}
}

func (s *soaking) run(t *testing.T) {
	t.Helper()
	ctx := t.Context()
	capacity := s.capacity(ctx, max(2*time.Second, *soak/60))
	s.mu.Lock()
	s.current, s.answered, s.shed = &window{}, 0, 0
	s.mu.Unlock()
	rate := shareOfCapacity * capacity
	done := make(chan struct{})
	go func() {
		defer close(done)
		s.load(ctx, rate, *soak)
	}()
	all := s.watch(*soak)
	<-done
	t.Logf("%.0f requests a second at most, %.0f sent for %v: %d answered, %d turned away, %d never sent; hostile: %v\n%s",
		capacity, rate, *soak, s.answered, s.shed, s.late.Load(), s.acts, table(all, *soak/windows))
	judge(t, all)
}

// judge fails if something grew, and prints by how much.
func judge(t *testing.T, all []*window) {
	t.Helper()
	settled := all[len(all)/3:]
	series := func(of func(*window) float64) (values []float64) {
		for _, w := range settled {
			values = append(values, of(w))
		}
		return values
	}
	for name, values := range map[string][]float64{
		"resident memory, MiB": series(func(w *window) float64 { return slices.Max(w.resident) }),
		"live heap, MiB":       series(func(w *window) float64 { return slices.Min(w.heap) }),
		"goroutines":           series(func(w *window) float64 { return slices.Min(w.routines) }),
		"open descriptors":     series(func(w *window) float64 { return slices.Min(w.fds) }),
	} {
		grown, deviation := growth(values)
		t.Logf("%s: grew by %.1f with a standard error of %.1f, %.0f allowed", name, grown, deviation, allowed[name])
		if grows(values, allowed[name]) {
			t.Errorf("%s grew by %.1f, more than %.0f: %.1f", name, grown, allowed[name], values)
		}
	}
	var first, last []time.Duration
	for n, w := range all {
		switch {
		case n < len(all)/3:
			first = append(first, w.latencies...)
		case n >= len(all)-len(all)/3:
			last = append(last, w.latencies...)
		}
	}
	t.Logf("p99 in the first third %.2f ms, in the last %.2f ms", quantile(first, 0.99), quantile(last, 0.99))
}

// atRest wants nothing of the callers to be left.
func (s *soaking) atRest(t *testing.T) {
	t.Helper()
	for _, door := range []string{"http", "grpc", "stream"} {
		eventually(t, "no request is in flight by "+door, func() bool {
			return s.r.metric(`evenreach_requests_in_flight{door="`+door+`"}`) == 0
		})
	}
	fresh := run(t)
	answersAll(t, fresh)
	for _, name := range []string{"go_goroutines ", "process_open_fds "} {
		want := fresh.metric(name) + 2 // the connection that asks, as the server sees it
		eventually(t, name+"is that of a fresh process", func() bool { return s.r.metric(name) <= want })
	}
}
