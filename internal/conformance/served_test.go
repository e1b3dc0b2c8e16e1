//go:build conformance || record || clients

package conformance

import (
	"bufio"
	"context"
	"encoding/json"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// addresses are where the program answers: the base of its FHIR, and host
// and port of its gRPC.
type addresses struct{ FHIR, GRPC string }

// served runs the program, with more flags, until the test ends.
func served(t *testing.T, flags ...string) addresses {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Minute)
	program := filepath.Join(t.TempDir(), "evenreach")
	if out, err := exec.CommandContext(ctx, "go", "build", "-tags", "grpcnotrace", "-o", program, "../../cmd/evenreach").CombinedOutput(); err != nil {
		cancel()
		t.Fatalf("go build: %v\n%s", err, out)
	}
	command := exec.CommandContext(ctx, program, append([]string{"serve", "--insecure-no-auth", "--drain-delay=0s",
		"--http-address=127.0.0.1:0", "--grpc-address=127.0.0.1:0", "--admin-address=127.0.0.1:0"}, flags...)...)
	command.Cancel = func() error { return command.Process.Signal(syscall.SIGTERM) }
	log, err := command.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	address, ended := make(chan addresses, 1), make(chan struct{})
	go func() {
		defer close(ended)
		for lines := bufio.NewScanner(log); lines.Scan(); { // to the end, so that the log never blocks it
			var entry struct{ Msg, HTTP, GRPC string }
			if json.Unmarshal(lines.Bytes(), &entry) == nil && entry.Msg == "serving" {
				address <- addresses{"http://" + entry.HTTP + "/fhir", entry.GRPC}
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
		return at
	case <-ended:
		t.Fatal("the program ended before it served")
		return addresses{}
	}
}
