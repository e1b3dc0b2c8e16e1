package batch

import (
	"context"
	"errors"
	"io"
	"runtime"
	"sync"
)

// A Line works on items on many cores and takes the results in the order of the items.
// No more than a few items a worker are held at a time.
type Line[Item, Result any] struct {
	Next func() (Item, error) // io.EOF ends the line
	Work func(context.Context, Item) Result
	Take func(Result) error // called by one goroutine
	// Wait is called before the next result is waited for, if it is not there yet; nil
	// for nothing to do.
	Wait func()
}

// underWay is an item that is worked on. Its result is sent to done.
type underWay[Item, Result any] struct {
	item Item
	done chan Result
}

// Run works with a number of workers, as many as there are cores if it is not above 0.
// It ends at the first error of Next, Take or the context.
func (l Line[Item, Result]) Run(ctx context.Context, workers int) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	const ahead = 2 // items read ahead, a worker
	work, queue := make(chan *underWay[Item, Result]), make(chan *underWay[Item, Result], ahead*workers)
	var group sync.WaitGroup
	for range workers {
		group.Go(func() {
			for i := range work {
				i.done <- l.Work(ctx, i.item)
			}
		})
	}
	var readError error
	group.Go(func() {
		defer close(work)
		defer close(queue)
		readError = l.feed(ctx, work, queue)
	})
	takeError := l.takeAll(queue)
	stop()
	for range queue { // let the feeder see that it is over
	}
	group.Wait()
	if takeError != nil {
		return takeError
	}
	return readError
}

// feed reads items. The queue keeps their order and bounds their number.
func (l Line[Item, Result]) feed(ctx context.Context, work, queue chan<- *underWay[Item, Result]) error {
	for {
		item, err := l.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		i := &underWay[Item, Result]{item, make(chan Result, 1)}
		select {
		case queue <- i:
		case <-ctx.Done():
			return ctx.Err()
		}
		work <- i
	}
}

// takeAll takes the results in the order of the queue.
func (l Line[Item, Result]) takeAll(queue <-chan *underWay[Item, Result]) error {
	wait := l.Wait
	if wait == nil {
		wait = func() {}
	}
	for {
		i, ok := receive(queue, wait)
		if !ok {
			return nil
		}
		result, _ := receive(i.done, wait)
		if err := l.Take(result); err != nil {
			return err
		}
	}
}

// receive receives, and says so first if it has to wait.
func receive[T any](from <-chan T, wait func()) (value T, ok bool) {
	select {
	case value, ok = <-from:
	default:
		wait()
		value, ok = <-from
	}
	return value, ok
}
