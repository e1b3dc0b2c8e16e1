package ops

import (
	"bytes"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// writerFunc is a writer that is a function.
type writerFunc func([]byte) (int, error)

func (f writerFunc) Write(p []byte) (int, error) { return f(p) }

func dropped(t *testing.T, l *LogWriter) string {
	t.Helper()
	registry := prometheus.NewRegistry()
	RegisterDropped(registry, l)
	_, metrics := get(t, Admin(registry, NewHealth()), "/metrics")
	for line := range strings.Lines(metrics) {
		if count, ok := strings.CutPrefix(line, "evenreach_log_lines_dropped_total "); ok {
			return strings.TrimSpace(count)
		}
	}
	t.Fatalf("/metrics does not count dropped lines: %s", metrics)
	return ""
}

func TestLogIsWrittenInOrderAndWhole(t *testing.T) {
	var got bytes.Buffer
	lines := NewLogWriter(&got)
	log := NewLogger(lines, slog.LevelInfo)
	for i := range maxWaiting / 2 {
		log.Info("request", "n", i)
	}
	lines.Close()
	written := strings.Split(strings.TrimSpace(got.String()), "\n")
	if len(written) != maxWaiting/2 || dropped(t, lines) != "0" {
		t.Fatalf("%d lines and %s dropped, want all %d", len(written), dropped(t, lines), maxWaiting/2)
	}
	for i, line := range written {
		if !strings.HasSuffix(line, fmt.Sprintf(`"n":%d}`, i)) {
			t.Fatalf("line %d is %s", i, line)
		}
	}
}

// A reader that is stuck holds nobody up: not those who write, nor the end.
func TestStuckLogDropsAndCounts(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		stuck := make(chan struct{})
		var got bytes.Buffer
		lines := NewLogWriter(writerFunc(func(p []byte) (int, error) {
			<-stuck
			return got.Write(p)
		}))
		for range 3 * maxWaiting {
			if n, err := lines.Write([]byte("line\n")); n != 5 || err != nil {
				t.Fatalf("%d bytes, error %v; a logger must not see that a line is dropped", n, err)
			}
			synctest.Wait()
		}
		want := fmt.Sprint(2*maxWaiting - 1) // one is being written
		if got := dropped(t, lines); got != want {
			t.Errorf("%s lines dropped, want %s", got, want)
		}
		begin := time.Now()
		lines.Close()
		if took := time.Since(begin); took != flushTime {
			t.Errorf("the end waited for %v, want %v", took, flushTime)
		}
		close(stuck)
		synctest.Wait()
		if n := strings.Count(got.String(), "line\n"); n != maxWaiting+1 {
			t.Errorf("%d lines written once the reader went on, want %d", n, maxWaiting+1)
		}
	})
}

func TestLogThatCannotBeWritten(t *testing.T) {
	lines := NewLogWriter(writerFunc(func([]byte) (int, error) { return 0, errors.New("no space left on device") }))
	for range 3 {
		_, _ = lines.Write([]byte("line\n")) // it never fails
	}
	lines.Close()
	if got := dropped(t, lines); got != "3" {
		t.Errorf("%s lines dropped, want 3", got)
	}
	_, _ = lines.Write([]byte("after the end\n")) // nor does this
	lines.Close()
}
