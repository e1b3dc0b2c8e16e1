//go:build linux || darwin

package config

import (
	"fmt"
	"strings"
	"syscall"
	"testing"
)

// With more connections than files the process would accept nobody any more, and a probe
// of its life would kill it.
func TestEnoughFiles(t *testing.T) {
	var saved syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &saved); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = syscall.Setrlimit(syscall.RLIMIT_NOFILE, &saved) })
	tests := []struct {
		files       uint64
		connections int
		mllp        bool
		enough      bool
	}{
		{264, 100, false, true},
		{263, 100, false, false},
		{264, 100, true, false},
		{520, 100, true, true},
	}
	for _, tt := range tests {
		t.Run(fmt.Sprint(tt), func(t *testing.T) {
			flags := []string{fmt.Sprintf("--max-connections=%d", tt.connections)}
			if tt.mllp {
				flags = append(flags, "--mllp-listen=127.0.0.1:2575", "--v2-target=http://127.0.0.1:9000/fhir")
			}
			s := parse(t, nil, flags...)
			if err := syscall.Setrlimit(syscall.RLIMIT_NOFILE, &syscall.Rlimit{Cur: tt.files, Max: saved.Max}); err != nil {
				t.Fatal(err)
			}
			_, err := s.Resolve()
			if (err == nil) != tt.enough || err != nil && !strings.Contains(err.Error(), "files that the process may have open") {
				t.Errorf("%v, want enough: %v", err, tt.enough)
			}
		})
	}
}
