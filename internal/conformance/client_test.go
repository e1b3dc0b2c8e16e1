//go:build conformance

package conformance

import (
	"bufio"
	"context"
	"encoding/json"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A client library that knows nothing of the service finds its way about it.
func TestForeignClient(t *testing.T) {
	base := served(t)
	args := []string{base, "../../api/fhir/Bundle-example-request.json"}
	for _, path := range written(t, published()) {
		if !strings.HasPrefix(filepath.Base(path), "CapabilityStatement-") {
			args = append(args, path)
		}
	}
	lines := node(t, "client.mjs", args...)
	for _, line := range lines {
		if !strings.HasPrefix(line, "ok\t") {
			t.Error(line)
		}
	}
	t.Logf("%d checks", len(lines))
}

// served runs the program and returns the base address of its FHIR.
func served(t *testing.T) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Minute)
	program := filepath.Join(t.TempDir(), "evenreach")
	if out, err := exec.CommandContext(ctx, "go", "build", "-tags", "grpcnotrace", "-o", program, "../../cmd/evenreach").CombinedOutput(); err != nil {
		cancel()
		t.Fatalf("go build: %v\n%s", err, out)
	}
	command := exec.CommandContext(ctx, program, "serve", "--insecure-no-auth", "--drain-delay=0s",
		"--http-address=127.0.0.1:0", "--grpc-address=127.0.0.1:0", "--admin-address=127.0.0.1:0")
	command.Cancel = func() error { return command.Process.Signal(syscall.SIGTERM) }
	log, err := command.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	address, ended := make(chan string, 1), make(chan struct{})
	go func() {
		defer close(ended)
		for lines := bufio.NewScanner(log); lines.Scan(); { // to the end, so that the log never blocks it
			var entry struct{ Msg, HTTP string }
			if json.Unmarshal(lines.Bytes(), &entry) == nil && entry.Msg == "serving" {
				address <- entry.HTTP
			}
		}
	}()
	t.Cleanup(func() {
		cancel()
		<-ended
		_ = command.Wait() // it was told to stop
	})
	select {
	case at := <-address:
		return "http://" + at + "/fhir"
	case <-ended:
		t.Fatal("the program ended before it served")
		return ""
	}
}
