// Package batch answers many requests, in the order in which they come, on all
// cores and in bounded memory.
package batch

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"sync"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/record"
)

// Answerer answers one request: a Bundle, or Parameters with one, in JSON. The
// error is *fault.Errors if the request is refused.
type Answerer func(ctx context.Context, body []byte) (fhir.Resource, error)

// Summary counts what was done.
type Summary struct {
	Answered int // with results
	Refused  int // with an OperationOutcome in their place
}

// Total is the number of requests.
func (s Summary) Total() int { return s.Answered + s.Refused }

// Options says how to run.
type Options struct {
	Workers int // number of requests answered at a time; the cores by default
	// Progress is called now and then, and at the end; nil for none.
	Progress func(Summary)
}

// item is a request that is being answered. Its answer is sent to done.
type item struct {
	request Request
	done    chan answer
}

type answer struct {
	line    []byte
	refused bool
	err     error // ends the batch
}

// Run answers each request of the source and writes one line of NDJSON each, in
// the order of the source: the answer, or the OperationOutcome of the refusal.
// No more than a few requests a worker are held at a time. It ends at the first
// error of reading, writing or the context.
func Run(ctx context.Context, source Source, out io.Writer, answerer Answerer, o Options) (Summary, error) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	if o.Workers <= 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	const ahead = 2 // requests read ahead, a worker
	work, queue := make(chan *item), make(chan *item, ahead*o.Workers)
	var workers sync.WaitGroup
	for range o.Workers {
		workers.Go(func() {
			for i := range work {
				i.done <- answerOne(ctx, i.request, answerer)
			}
		})
	}
	var readError error
	workers.Go(func() {
		defer close(work)
		defer close(queue)
		readError = feed(ctx, source, work, queue)
	})
	summary, writeError := write(queue, out, o.Progress)
	stop()
	for range queue { // let the feeder see that it is over
	}
	workers.Wait()
	if writeError != nil {
		return summary, writeError
	}
	return summary, readError
}

// feed reads requests. The queue keeps their order and bounds their number.
func feed(ctx context.Context, source Source, work, queue chan<- *item) error {
	for {
		request, err := source.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		i := &item{request, make(chan answer, 1)}
		select {
		case queue <- i:
		case <-ctx.Done():
			return ctx.Err()
		}
		work <- i
	}
}

// answerOne answers a request. A panic costs only the answer to this request; its text
// may hold data of the patient, so only its kind is reported.
func answerOne(ctx context.Context, r Request, answerer Answerer) (a answer) {
	defer func() {
		if value := recover(); value != nil {
			defect := fault.Refuse(fault.Internal, "", fmt.Sprintf("a defect of the program (%T); please report it", value))
			a = answer{line: fhirjson.Encode(record.Outcome(defect.Issues)), refused: true}
		}
	}()
	resource, err := fhir.Resource(nil), r.Problem
	if err == nil {
		resource, err = answerer(ctx, r.Body)
	}
	if refusal, ok := errors.AsType[*fault.Errors](err); ok {
		return answer{line: fhirjson.Encode(record.Outcome(refusal.Issues)), refused: true}
	}
	if err != nil {
		return answer{err: err}
	}
	return answer{line: fhirjson.Encode(resource)}
}

// progressEvery is how many answers lie between two calls of Progress.
const progressEvery = 100

// write writes the answers in the order of the queue. It flushes before it waits for
// the next one, so that no answer is held back until another request comes.
func write(queue <-chan *item, out io.Writer, progress func(Summary)) (s Summary, err error) {
	buffer := bufio.NewWriter(out)
	if progress == nil {
		progress = func(Summary) {}
	}
	defer func() { progress(s) }()
	for {
		i, ok := next(queue, buffer)
		if !ok {
			return s, buffer.Flush()
		}
		a, _ := next(i.done, buffer)
		if a.err != nil {
			return s, errors.Join(a.err, buffer.Flush())
		}
		_, _ = buffer.Write(a.line) // a failed write shows at the next step
		if err := buffer.WriteByte('\n'); err != nil {
			return s, err
		}
		if s.count(a.refused); s.Total()%progressEvery == 0 {
			progress(s)
		}
	}
}

// next receives, and flushes first if it has to wait.
func next[T any](from <-chan T, buffer *bufio.Writer) (value T, ok bool) {
	select {
	case value, ok = <-from:
	default:
		_ = buffer.Flush() // a failed write shows at the next step
		value, ok = <-from
	}
	return value, ok
}

func (s *Summary) count(refused bool) {
	if refused {
		s.Refused++
	} else {
		s.Answered++
	}
}
