//go:build resilience

package resilience

import (
	"io"
	"net/http"
	"os"
	"testing"
	"time"
)

// Requests are answered whatever becomes of the log, and the process goes on;
// how much of the log was lost is a metric.
func TestLogThatCannotBeWritten(t *testing.T) {
	t.Parallel()
	const lines = 3000
	tests := []struct {
		name   string
		stderr func(t *testing.T) *os.File
		loses  bool
	}{
		{"to a file, the control", func(t *testing.T) *os.File { return opened(t, os.DevNull) }, false},
		{"a full disk", func(t *testing.T) *os.File { return opened(t, "/dev/full") }, true},
		{"a pipe that nobody reads", func(t *testing.T) *os.File {
			_, writer := pipe(t)
			return writer
		}, true},
		{"a pipe whose reader is gone", func(t *testing.T) *os.File {
			reader, writer := pipe(t)
			_ = reader.Close() // it read nothing
			return writer
		}, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := newReplica(t, "--drain-delay=0s")
			r.stderr = tt.stderr(t)
			r.start()
			r.ready()
			answersAll(t, r)
			// A pipe holds 64 KiB (pipe(7)), and 1024 lines wait; this is more.
			for range lines {
				if got := statusOf(t, r.HTTP, "/nowhere"); got != http.StatusNotFound {
					t.Fatalf("status %d, want 404", got)
				}
			}
			answersAll(t, r)
			lost := r.metric("evenreach_log_lines_dropped_total ")
			if (lost > 0) != tt.loses {
				t.Errorf("%.0f lines are said to be lost, want some: %v", lost, tt.loses)
			}
			r.lives()
			r.terminate()
			t.Logf("%d requests answered, %.0f lines lost", lines, lost)
		})
	}
}

// statusOf is the status of a GET.
func statusOf(t *testing.T, address, path string) int {
	t.Helper()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "http://"+address+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	answer, err := (&http.Client{Timeout: time.Minute}).Do(request)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	_, _ = io.Copy(io.Discard, answer.Body)
	return answer.StatusCode
}

func opened(t *testing.T, file string) *os.File {
	t.Helper()
	f, err := os.OpenFile(file, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.Close() })
	return f
}

func pipe(t *testing.T) (reader, writer *os.File) {
	t.Helper()
	reader, writer, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _, _ = reader.Close(), writer.Close() })
	return reader, writer
}
