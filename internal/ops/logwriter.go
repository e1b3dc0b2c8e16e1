package ops

import (
	"bytes"
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
	lines   chan []byte
	closing chan struct{}
	close   sync.Once
	done    chan struct{}
	dropped atomic.Int64
}

// NewLogWriter returns a LogWriter that writes to w, one line at a time.
func NewLogWriter(w io.Writer) *LogWriter {
	l := &LogWriter{lines: make(chan []byte, maxWaiting), closing: make(chan struct{}), done: make(chan struct{})}
	go l.run(w)
	return l
}

// Write takes a line, or drops it. It never waits and never fails.
func (l *LogWriter) Write(line []byte) (int, error) {
	select {
	case l.lines <- bytes.Clone(line):
	default:
		l.dropped.Add(1)
	}
	return len(line), nil
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

func (l *LogWriter) pass(w io.Writer, line []byte) {
	if _, err := w.Write(line); err != nil {
		l.dropped.Add(1)
	}
}

// RegisterDropped registers how many lines of a log were dropped.
func RegisterDropped(reg prometheus.Registerer, l *LogWriter) {
	promauto.With(reg).NewCounterFunc(prometheus.CounterOpts{
		Name: "evenreach_log_lines_dropped_total",
		Help: "Lines of the log that were dropped because they could not be written, or not in time.",
	}, func() float64 { return float64(l.dropped.Load()) })
}
