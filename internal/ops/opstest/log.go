package opstest

import (
	"bytes"
	"sync"
)

// Log is a log that is written by many goroutines, also while it is read.
type Log struct {
	mu     sync.Mutex
	buffer bytes.Buffer
}

// Write adds to the log.
func (l *Log) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buffer.Write(p)
}

// String is what was written so far.
func (l *Log) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.buffer.String()
}
