package ops

import (
	"bytes"
	"errors"
	"io"
	"sync"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"
)

const (
	// maxWaiting bounds the lines of the log that wait to be written: more than
	// a second's at the full load of a core (internal/benchmark/REPORT.md),
	// and less than half a megabyte, for a line has some 400 bytes (measured).
	maxWaiting = 1024
	// flushTime is how long the end of the process waits for them. Common
	// practice; it is within the 10 s between drain and grace period.
	flushTime = time.Second
)

// A LogWriter writes log lines in the background, so that a request never waits for
// the log. If what it writes to is slow, stuck or gone, lines are dropped and counted,
// and requests are answered all the same.
type LogWriter struct {
	lines   chan waitingLine
	closing chan struct{}
	close   sync.Once
	done    chan struct{}
	dropped atomic.Int64
}

// waitingLine is a line that waits to be written.
type waitingLine struct {
	text []byte
	done chan<- error // is told what became of it; nil for nobody
}

// NewLogWriter returns a LogWriter that writes to w, one line at a time.
func NewLogWriter(w io.Writer) *LogWriter {
	l := &LogWriter{lines: make(chan waitingLine, maxWaiting), closing: make(chan struct{}), done: make(chan struct{})}
	go l.run(w)
	return l
}

// Write takes a line, or drops it. It never waits and never fails.
func (l *LogWriter) Write(line []byte) (int, error) {
	_ = l.take(waitingLine{text: bytes.Clone(line)}) // it is counted
	return len(line), nil
}

var (
	errTooMany = errors.New("too many lines wait to be written")
	errTooLate = errors.New("the line was not written in time")
)

// WriteWithin writes a line before it returns, or says that it was not written within a
// time; it may be later. The line belongs to the LogWriter then.
func (l *LogWriter) WriteWithin(line []byte, patience time.Duration) error {
	done := make(chan error, 1)
	if err := l.take(waitingLine{line, done}); err != nil {
		return err
	}
	late := time.NewTimer(patience)
	defer late.Stop()
	select {
	case err := <-done:
		return err
	case <-late.C:
		return errTooLate
	}
}

// take takes a line, or drops it.
func (l *LogWriter) take(line waitingLine) error {
	select {
	case l.lines <- line:
		return nil
	default:
		l.dropped.Add(1)
		return errTooMany
	}
}

// Close writes the lines that wait, for at most a second. What is written after
// it is lost.
func (l *LogWriter) Close() {
	l.close.Do(func() { close(l.closing) })
	select {
	case <-l.done:
	case <-time.After(flushTime):
	}
}

// run writes until the writer is closed, and then what still waits.
func (l *LogWriter) run(w io.Writer) {
	defer close(l.done)
	for {
		select {
		case line := <-l.lines:
			l.pass(w, line)
		case <-l.closing:
			for range len(l.lines) {
				l.pass(w, <-l.lines)
			}
			return
		}
	}
}

func (l *LogWriter) pass(w io.Writer, line waitingLine) {
	_, err := w.Write(line.text)
	if err != nil {
		l.dropped.Add(1)
	}
	if line.done != nil {
		line.done <- err
	}
}

// RegisterDropped registers how many lines of a log were dropped.
func RegisterDropped(reg prometheus.Registerer, l *LogWriter) {
	promauto.With(reg).NewCounterFunc(prometheus.CounterOpts{
		Name: "evenreach_log_lines_dropped_total",
		Help: "Lines of the log that were dropped because they could not be written, or not in time.",
	}, func() float64 { return float64(l.dropped.Load()) })
}
