// Package batch answers many requests, in the order in which they come, on all
// cores and in bounded memory.
package batch

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"

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
	w := writer{buffer: bufio.NewWriter(out), progress: o.Progress}
	if w.progress == nil {
		w.progress = func(Summary) {}
	}
	line := Line[Request, answer]{
		Next: source.Next,
		Work: func(ctx context.Context, r Request) answer { return answerOne(ctx, r, answerer) },
		Take: w.take,
		// No answer is held back until another request comes. A failed write shows at the
		// next step.
		Wait: func() { _ = w.buffer.Flush() },
	}
	err := errors.Join(line.Run(ctx, o.Workers), w.buffer.Flush())
	w.progress(w.summary)
	return w.summary, err
}

// Defect is the refusal of what ended in a panic. Its text may hold data of the patient,
// so only its kind is told.
func Defect(value any) *fault.Errors {
	return fault.Refuse(fault.Internal, "", fmt.Sprintf("a defect of the program (%T); please report it", value))
}

// answerOne answers a request. A panic costs only the answer to this request.
func answerOne(ctx context.Context, r Request, answerer Answerer) (a answer) {
	defer func() {
		if value := recover(); value != nil {
			a = answer{line: fhirjson.Encode(record.Outcome(Defect(value).Issues)), refused: true}
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

// writer writes the answers in the order of the requests.
type writer struct {
	buffer   *bufio.Writer
	summary  Summary
	progress func(Summary)
}

func (w *writer) take(a answer) error {
	if a.err != nil {
		return a.err
	}
	_, _ = w.buffer.Write(a.line) // a failed write shows at the next step
	if err := w.buffer.WriteByte('\n'); err != nil {
		return err
	}
	if w.summary.count(a.refused); w.summary.Total()%progressEvery == 0 {
		w.progress(w.summary)
	}
	return nil
}

func (s *Summary) count(refused bool) {
	if refused {
		s.Refused++
	} else {
		s.Answered++
	}
}
