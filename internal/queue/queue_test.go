package queue

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"pgregory.net/rapid"
)

// book counts assessments.
type book struct {
	mu    sync.Mutex
	count map[string]int
}

func newBook() *book { return &book{count: map[string]int{}} }

func (b *book) note(patient string) int {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.count[patient]++
	return b.count[patient]
}

func (b *book) counts() map[string]int {
	b.mu.Lock()
	defer b.mu.Unlock()
	return maps.Clone(b.count)
}

func opened(t testing.TB, o Options) *Queue {
	t.Helper()
	q, err := Open(o)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

// A thousand notifications in bursts lead to one assessment a patient.
func TestBurstsLeadToOneAssessmentAPatient(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q, done := opened(t, Options{Quiet: 10 * time.Second}), newBook()
		ended := make(chan struct{})
		go func() {
			defer close(ended)
			q.Run(t.Context(), 4, func(_ context.Context, p string, _ int) time.Duration { done.note(p); return 0 })
		}()
		for i := range 1000 {
			if err := q.Add(fmt.Sprint("p", i%20)); err != nil {
				t.Fatal(err)
			}
			if i%100 == 99 {
				time.Sleep(time.Second)
			}
		}
		if n := len(done.counts()); n > 0 {
			t.Errorf("%d patients were assessed while notifications came", n)
		}
		time.Sleep(time.Minute)
		for p, n := range done.counts() {
			if n != 1 {
				t.Errorf("%s was assessed %d times, want once", p, n)
			}
		}
		if n := len(done.counts()); n != 20 {
			t.Errorf("%d patients were assessed, want 20", n)
		}
		q.Close()
		<-ended
	})
}

// Whoever always has something new is assessed all the same, after six quiet times.
func TestNobodyWaitsForEver(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q, done := opened(t, Options{Quiet: 10 * time.Second}), newBook()
		go q.Run(t.Context(), 1, func(_ context.Context, p string, _ int) time.Duration { done.note(p); return 0 })
		for range 62 {
			_ = q.Add("p") // as long as it is open it takes one
			time.Sleep(time.Second)
		}
		if n := done.counts()["p"]; n != 1 {
			t.Errorf("%d assessments in 62 s, want the one after 60 s", n)
		}
		q.Close()
		synctest.Wait()
	})
}

// What is added while an assessment runs may not have been seen by it.
func TestAddedWhileRunning(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q, done := opened(t, Options{Quiet: time.Second}), newBook()
		go q.Run(t.Context(), 1, func(_ context.Context, p string, _ int) time.Duration {
			done.note(p)
			time.Sleep(5 * time.Second)
			return 0
		})
		_ = q.Add("p")
		time.Sleep(3 * time.Second)
		_ = q.Add("p")
		_ = q.Add("p")
		time.Sleep(time.Minute)
		if n := done.counts()["p"]; n != 2 || q.Len() != 0 {
			t.Errorf("%d assessments and %d in the queue, want 2 and 0", n, q.Len())
		}
		q.Close()
		synctest.Wait()
	})
}

// What failed is tried again after the time that was asked for.
// Who waits longest is who was added first and is not done with, however often it was tried; what was added while an
// assessment ran waits since then.
func TestOldest(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q := opened(t, Options{Quiet: time.Second})
		want := func(after, oldest time.Duration) {
			t.Helper()
			time.Sleep(after)
			if got := q.Oldest(); got != oldest {
				t.Errorf("the oldest has waited %v, want %v", got, oldest)
			}
		}
		want(0, 0)
		go q.Run(t.Context(), 2, func(_ context.Context, p string, failed int) time.Duration {
			switch {
			case p == "stuck" && failed < 3:
				return 10 * time.Minute
			case p == "slow":
				time.Sleep(time.Minute)
			}
			return 0
		})
		_ = q.Add("stuck")
		for range 25 { // others come and go
			_ = q.Add("other")
			time.Sleep(time.Minute)
		}
		want(0, 25*time.Minute)
		want(6*time.Minute, 0) // its fourth attempt, after three times ten minutes
		_ = q.Add("slow")
		want(31*time.Second, 31*time.Second) // runs
		_ = q.Add("slow")
		want(29*time.Second, time.Minute)
		_ = q.Add("slow")
		want(10*time.Second, 39*time.Second) // since the second one
		q.Close()
		time.Sleep(10 * time.Minute)
		synctest.Wait()
	})
}

func TestTriedAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q, done := opened(t, Options{Quiet: time.Second}), newBook()
		go q.Run(t.Context(), 1, func(_ context.Context, p string, failed int) time.Duration {
			if n := done.note(p); n != failed+1 {
				t.Errorf("%d failed before attempt %d", failed, n)
			}
			if failed < 2 {
				return 30 * time.Second
			}
			return 0
		})
		_ = q.Add("p")
		for at, want := range map[time.Duration]int{10 * time.Second: 1} {
			time.Sleep(at)
			if n := done.counts()["p"]; n != want {
				t.Errorf("%d assessments after %v, want %d", n, at, want)
			}
		}
		time.Sleep(2 * time.Minute)
		if n := done.counts()["p"]; n != 3 || q.Len() != 0 {
			t.Errorf("%d assessments and %d in the queue, want 3 and 0", n, q.Len())
		}
		q.Close()
		synctest.Wait()
	})
}

// Closing assesses at once whoever waits.
func TestClosing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		q, done := opened(t, Options{Quiet: time.Hour}), newBook()
		_ = q.Add("a", "b", "c")
		q.Close()
		q.Run(t.Context(), 2, func(_ context.Context, p string, _ int) time.Duration { done.note(p); return 0 })
		if n := len(done.counts()); n != 3 {
			t.Errorf("%d patients were assessed, want 3", n)
		}
		if err := q.Add("d"); !errors.Is(err, ErrClosed) {
			t.Errorf("a closed queue says %v", err)
		}
	})
}

func TestFull(t *testing.T) {
	q := opened(t, Options{Quiet: time.Hour})
	many := make([]string, maxLength)
	for i := range many {
		many[i] = fmt.Sprint(i)
	}
	if err := q.Add(many...); err != nil {
		t.Fatal(err)
	}
	if err := q.Add("one more"); !errors.Is(err, ErrFull) {
		t.Errorf("a full queue says %v", err)
	}
	if err := q.Add("7"); err != nil {
		t.Errorf("of one who waits a full queue says %v", err)
	}
}

// killed leaves a queue as a killed process would: the kernel gives its lock back.
func killed(q *Queue) { _ = q.folder.lock.Close() }

// What a killed process had taken the next one does, that which it was at included.
func TestKilledProcessLosesNothing(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "queue")
	q := opened(t, Options{Folder: folder})
	if err := q.Add("done", "running", "waiting", ".."); err != nil {
		t.Fatal(err)
	}
	ctx, kill := context.WithCancel(t.Context())
	reached, dead := make(chan struct{}), make(chan struct{})
	go q.Run(ctx, 1, func(_ context.Context, p string, _ int) time.Duration {
		if p == "running" {
			close(reached)
			<-dead // for ever, as far as the queue knows
		}
		return 0
	})
	<-reached
	if err := q.Add("added"); err != nil {
		t.Fatal(err)
	}
	left := map[string]bool{}
	for _, sub := range []string{"waiting", "running"} {
		entries, err := os.ReadDir(filepath.Join(folder, sub))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			left[e.Name()[len(prefix):]] = true
		}
	}
	if !left["running"] || !left["added"] {
		t.Errorf("on disk are %v, want those that were not done", left)
	}
	if _, err := Open(Options{Folder: folder}); err == nil {
		t.Error("two processes have one queue")
	}
	killed(q)
	next, done := opened(t, Options{Folder: folder}), newBook()
	if n := next.Len(); n != len(left) {
		t.Errorf("the next process finds %d, want %d", n, len(left))
	}
	next.Close()
	next.Run(t.Context(), 1, func(_ context.Context, p string, _ int) time.Duration { done.note(p); return 0 })
	for p := range left {
		if done.counts()[p] != 1 {
			t.Errorf("%s was assessed %d times after the restart, want once", p, done.counts()[p])
		}
	}
	kill()
	close(dead)
	if after, err := os.ReadDir(filepath.Join(folder, "waiting")); err != nil || len(after) != 0 {
		t.Errorf("%d are left when all is done: %v", len(after), err)
	}
}

// At no point of any history is somebody who was added and not done since neither on disk nor done.
func TestNothingIsLostAtAnyPoint(t *testing.T) {
	dir := t.TempDir()
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		n++
		folder := filepath.Join(dir, fmt.Sprint(n))
		q, err := Open(Options{Folder: folder})
		if err != nil {
			r.Fatal(err)
		}
		owed := map[string]bool{}
		var running []*item
		for range rapid.IntRange(1, 30).Draw(r, "steps") {
			switch rapid.IntRange(0, 3).Draw(r, "step") {
			case 0:
				p := rapid.SampledFrom([]string{"a", "b", "c"}).Draw(r, "patient")
				if err := q.Add(p); err != nil {
					r.Fatal(err)
				}
				owed[p] = true
			case 1:
				if next, _, _ := q.next(time.Now().Add(time.Hour)); next != nil {
					running = append(running, next)
					owed[next.patient] = false // what is added from now on is owed again
				}
			case 2:
				if len(running) > 0 {
					failed := rapid.Bool().Draw(r, "failed")
					after := time.Duration(0)
					if failed {
						after = time.Second
						owed[running[0].patient] = true
					}
					q.finish(running[0], after)
					running = running[1:]
				}
			case 3:
				killed(q)
				for _, i := range running {
					owed[i.patient] = true
				}
				running = nil
				if q, err = Open(Options{Folder: folder}); err != nil {
					r.Fatal(err)
				}
			}
			for p, is := range owed {
				if is && q.items[p] == nil {
					r.Fatalf("%s is owed and not in the queue", p)
				}
			}
		}
		killed(q)
	})
}

// A crash may leave a patient in either folder, or in both: whoever was added while an assessment ran. None of the files
// has content, so that none can be half written.
func TestFoldersAsACrashLeavesThem(t *testing.T) {
	for _, c := range []struct {
		name             string
		waiting, running []string
		want             []string
	}{
		{"before the assessment", []string{"patient-a"}, nil, []string{"a"}},
		{"within the assessment", nil, []string{"patient-a"}, []string{"a"}},
		{"added while the assessment ran", []string{"patient-a"}, []string{"patient-a"}, []string{"a"}},
		{"within an earlier recovery", []string{"patient-a", "patient-c"}, []string{"patient-b", "patient-c"}, []string{"a", "b", "c"}},
		{"after the assessment", nil, nil, nil},
		{"a file of somebody else", []string{"a", ".patient-b.swp"}, nil, nil},
		{"an id of dots", []string{"patient-.."}, nil, []string{".."}},
	} {
		t.Run(c.name, func(t *testing.T) {
			folder := t.TempDir()
			for sub, names := range map[string][]string{"waiting": c.waiting, "running": c.running} {
				if err := os.Mkdir(filepath.Join(folder, sub), 0o700); err != nil {
					t.Fatal(err)
				}
				for _, name := range names {
					if err := os.WriteFile(filepath.Join(folder, sub, name), nil, 0o600); err != nil {
						t.Fatal(err)
					}
				}
			}
			q, done := opened(t, Options{Folder: folder}), newBook()
			q.Close()
			q.Run(t.Context(), 1, func(_ context.Context, p string, _ int) time.Duration { done.note(p); return 0 })
			if got := slices.Sorted(maps.Keys(done.counts())); !slices.Equal(got, c.want) {
				t.Errorf("assessed were %v, want %v", got, c.want)
			}
			for p, n := range done.counts() {
				if n != 1 {
					t.Errorf("%s was assessed %d times, want once", p, n)
				}
			}
		})
	}
}

// What cannot be written is not acknowledged, and not in the queue either.
func TestFolderThatIsGone(t *testing.T) {
	folder := t.TempDir()
	q := opened(t, Options{Folder: folder, Quiet: time.Hour})
	if err := os.RemoveAll(filepath.Join(folder, "waiting")); err != nil {
		t.Fatal(err)
	}
	if err := q.Add("a"); err == nil || q.Len() != 0 {
		t.Errorf("a folder that is gone says %v, and %d are in the queue", err, q.Len())
	}
	for _, path := range []string{filepath.Join(folder, "lock", "below a file"), "/proc/none"} {
		if _, err := Open(Options{Folder: path}); err == nil {
			t.Errorf("a queue in %s can be opened", path)
		}
	}
}
