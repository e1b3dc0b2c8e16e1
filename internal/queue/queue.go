// Package queue holds the patients who are to be assessed because something about them changed. However often one is
// added, one assessment follows after a short quiet time. What was added is done at least once: what is added while an
// assessment runs leads to another one.
//
// It is in memory, and with a folder also on disk, where the next process finds what a killed one left.
package queue

import (
	"container/heap"
	"context"
	"errors"
	"sync"
	"time"
)

// Options say how a Queue waits and where it is kept.
type Options struct {
	// Quiet is how long nothing must be added for a patient before the assessment.
	Quiet time.Duration
	// Folder keeps the queue; empty for memory alone. It belongs to one process.
	Folder string
}

const (
	// patience is how many quiet times a patient waits at most, if there is always something new.
	//
	// Source: ours: with the usual quiet time one minute.
	patience = 6
	// maxLength bounds how many patients wait; more are refused, and are to be sent again.
	//
	// Source: ours: far more than a hospital measures in a day, in some 20 MB.
	maxLength = 100_000
)

var (
	// ErrFull is a queue that takes no more for now.
	ErrFull = errors.New("the queue is full")
	// ErrClosed is a queue that takes nothing any more.
	ErrClosed = errors.New("the queue is closed")
)

// A Queue may be used by many goroutines.
type Queue struct {
	quiet  time.Duration
	folder *folder // nil for memory alone

	mu      sync.Mutex
	items   map[string]*item
	waiting byDue
	closed  bool
	changed chan struct{} // has a token if something changed that the dispatcher must look at
}

// item is one patient. While it runs it is not in the heap.
type item struct {
	patient string
	since   time.Time // when it was added first since it was done with
	newest  time.Time // when it was added while running
	first   time.Time // when it was added first since its last assessment began
	due     time.Time
	heapDue time.Time // by which the heap is ordered: due when it was put there, so never later than due
	tries   int       // that failed, since it was added
	running bool
	again   bool // added while running
}

// Open returns a Queue, with what an earlier process left in its folder.
func Open(o Options) (*Queue, error) {
	q := &Queue{quiet: o.Quiet, items: map[string]*item{}, changed: make(chan struct{}, 1)}
	if o.Folder == "" {
		return q, nil
	}
	var left []string
	var err error
	if q.folder, left, err = openFolder(o.Folder); err != nil {
		return nil, err
	}
	for _, patient := range left {
		q.insert(patient, time.Now())
	}
	return q, nil
}

// Len is how many patients wait or are assessed.
func (q *Queue) Len() int {
	q.mu.Lock()
	defer q.mu.Unlock()
	return len(q.items)
}

// Oldest is how long the patient who waits longest has waited, the tries that failed included; 0 if nobody waits. After
// a restart it counts anew.
func (q *Queue) Oldest() time.Duration {
	q.mu.Lock()
	defer q.mu.Unlock()
	now, longest := time.Now(), time.Duration(0)
	for _, i := range q.items {
		longest = max(longest, now.Sub(i.since))
	}
	return longest
}

// Add adds patients. Without an error they are in the queue, and on disk if it has a folder; with one some of them may be.
func (q *Queue) Add(patients ...string) error {
	unwritten, err := q.toWrite(patients)
	if err != nil {
		return err
	}
	if q.folder != nil && len(unwritten) > 0 {
		if err := q.folder.add(unwritten); err != nil {
			return err
		}
	}
	q.mu.Lock()
	defer q.mu.Unlock()
	now := time.Now()
	for _, patient := range patients {
		q.insert(patient, now)
	}
	q.wake()
	return nil
}

// toWrite are those of the patients whom the folder has to be told of: who do not wait already. One whose assessment
// runs does not wait.
func (q *Queue) toWrite(patients []string) (all []string, err error) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.closed {
		return nil, ErrClosed
	}
	for _, patient := range patients {
		if known := q.items[patient]; known == nil || known.running {
			all = append(all, patient)
		}
	}
	if len(q.items)+len(all) > maxLength {
		return nil, ErrFull
	}
	return all, nil
}

// insert puts a patient into the queue, or lets one who waits wait for another quiet time.
func (q *Queue) insert(patient string, now time.Time) {
	known := q.items[patient]
	switch {
	case known == nil:
		known = &item{patient: patient, since: now, first: now, due: now.Add(q.quiet)}
		q.items[patient] = known
		q.push(known)
	case known.running:
		if !known.again {
			known.newest = now
		}
		known.again = true
	default:
		known.due = earlier(now.Add(q.quiet), known.first.Add(patience*q.quiet))
	}
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func (q *Queue) push(i *item) {
	i.heapDue = i.due
	heap.Push(&q.waiting, i)
}

func (q *Queue) wake() {
	select {
	case q.changed <- struct{}{}:
	default:
	}
}

// Run assesses whoever is due, several at a time, until the queue is closed and empty or the context ends. What do
// returns is how long to wait until the same is tried again; 0 if it is done with. It is told how often it failed.
func (q *Queue) Run(ctx context.Context, workers int, do func(ctx context.Context, patient string, failed int) time.Duration) {
	work := make(chan *item)
	var group sync.WaitGroup
	for range workers {
		group.Go(func() {
			for i := range work {
				q.finish(i, do(ctx, i.patient, i.tries))
			}
		})
	}
	for q.dispatch(ctx, work) {
	}
	close(work)
	group.Wait()
}

// dispatch hands out what is due, and waits for the next. It reports false at the end.
func (q *Queue) dispatch(ctx context.Context, work chan<- *item) bool {
	next, wait, ended := q.next(time.Now())
	if ended {
		return false
	}
	if next != nil {
		select {
		case work <- next:
			return true
		case <-ctx.Done():
			q.finish(next, time.Nanosecond)
			return false
		}
	}
	timer := time.NewTimer(wait)
	defer timer.Stop()
	select {
	case <-q.changed:
	case <-timer.C:
	case <-ctx.Done():
		return false
	}
	return true
}

// longestSleep is how long the dispatcher waits where no patient does. Any change wakes it.
const longestSleep = time.Hour

// next takes the patient who is due, or says how long to wait for one.
func (q *Queue) next(now time.Time) (due *item, wait time.Duration, ended bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	for len(q.waiting) > 0 {
		first := q.waiting[0]
		if first.heapDue.Before(first.due) { // something was added since
			first.heapDue = first.due
			heap.Fix(&q.waiting, 0)
			continue
		}
		if wait := first.due.Sub(now); wait > 0 && !q.closed {
			return nil, wait, false
		}
		heap.Pop(&q.waiting)
		first.running, first.again = true, false
		if q.folder != nil {
			q.folder.begin(first.patient)
		}
		return first, 0, false
	}
	return nil, longestSleep, q.closed && len(q.items) == 0
}

// finish ends an assessment, which is repeated after a while if that is not 0, or if there is something new. Once the
// queue is closed nothing is repeated: it stays on disk for the next process, if there is a folder.
func (q *Queue) finish(i *item, after time.Duration) {
	q.mu.Lock()
	defer q.mu.Unlock()
	defer q.wake()
	repeated := i.again || after > 0
	if q.folder != nil {
		q.folder.finish(i.patient, repeated)
	}
	if !repeated || q.closed {
		delete(q.items, i.patient)
		return
	}
	if after == 0 {
		i.since = i.newest
	}
	i.tries++
	if i.again {
		after, i.tries = q.quiet, 0
	}
	now := time.Now()
	i.running, i.again, i.first, i.due = false, false, now, now.Add(after)
	q.push(i)
}

// Close takes nothing any more and lets Run assess at once whoever waits.
func (q *Queue) Close() {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.closed = true
	q.wake()
}

// byDue is a heap of what waits.
type byDue []*item

// The methods of heap.Interface.
func (h byDue) Len() int           { return len(h) }
func (h byDue) Less(a, b int) bool { return h[a].heapDue.Before(h[b].heapDue) }
func (h byDue) Swap(a, b int)      { h[a], h[b] = h[b], h[a] }

// Push appends.
func (h *byDue) Push(x any) { *h = append(*h, x.(*item)) }

// Pop takes the last one.
func (h *byDue) Pop() any {
	last := (*h)[len(*h)-1]
	*h = (*h)[:len(*h)-1]
	return last
}
