//go:build resilience

package resilience

import (
	"bytes"
	"cmp"
	"context"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"
)

var program = flag.String("program", "", "the program to try; built from this source if not set")

func TestMain(m *testing.M) {
	flag.Parse()
	os.Exit(built(m.Run))
}

// built runs with the program in place.
func built(run func() int) int {
	if *program != "" {
		return run()
	}
	folder, err := os.MkdirTemp("", "resilience")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer func() { _ = os.RemoveAll(folder) }()
	*program = filepath.Join(folder, "evenreach")
	// Without the state of the repository, so that its version is known.
	build := exec.CommandContext(context.Background(), "go", "build", "-tags", "grpcnotrace", "-buildvcs=false", "-o", *program, "../../cmd/evenreach")
	if out, err := build.CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "go build: %v\n%s", err, out)
		return 1
	}
	return run()
}

// replica is one process of the program, at addresses that stay the same when
// it is started again.
type replica struct {
	t                 *testing.T
	program           string // empty for the one to try
	flags, env        []string
	stderr            *os.File // where its log goes
	log               string   // the file of that, if it is one
	command           *exec.Cmd
	GRPC, HTTP, Admin string
}

// newReplica prepares a replica that lets in everybody, unless told otherwise.
func newReplica(t *testing.T, flags ...string) *replica {
	t.Helper()
	r := &replica{t: t, GRPC: freeAddress(t), HTTP: freeAddress(t), Admin: freeAddress(t), log: filepath.Join(t.TempDir(), "log")}
	r.flags = append([]string{"serve", "--grpc-address=" + r.GRPC, "--http-address=" + r.HTTP, "--admin-address=" + r.Admin}, flags...)
	if !strings.Contains(strings.Join(flags, " "), "--auth-issuers") {
		r.flags = append(r.flags, "--insecure-no-auth")
	}
	var err error
	if r.stderr, err = os.OpenFile(r.log, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o600); err != nil {
		t.Fatal(err)
	}
	return r
}

// run starts a replica and waits until it is ready.
func run(t *testing.T, flags ...string) *replica {
	t.Helper()
	r := newReplica(t, flags...)
	r.start()
	r.ready()
	return r
}

// start starts the replica.
func (r *replica) start() {
	r.t.Helper()
	r.command = exec.CommandContext(context.Background(), cmp.Or(r.program, *program), r.flags...)
	r.command.Env = append(os.Environ(), r.env...)
	r.command.Stderr = r.stderr
	if err := r.command.Start(); err != nil {
		r.t.Fatal(err)
	}
	command := r.command
	r.t.Cleanup(func() {
		if command.ProcessState == nil {
			_ = command.Process.Kill()
			_ = command.Wait()
		}
	})
}

// ready waits until the replica takes requests.
func (r *replica) ready() {
	r.t.Helper()
	eventually(r.t, "the replica is ready", func() bool { return r.status("/readyz") == http.StatusOK })
}

// kill ends the replica as the kernel does when memory runs out.
func (r *replica) kill() {
	r.t.Helper()
	if err := r.command.Process.Kill(); err != nil {
		r.t.Fatalf("the replica had ended by itself: %v", err)
	}
	_ = r.command.Wait() // it says that it was killed
}

// terminate ends the replica as a rollout does, and wants it to end well.
func (r *replica) terminate() {
	r.t.Helper()
	if err := r.command.Process.Signal(syscall.SIGTERM); err != nil {
		r.t.Fatalf("the replica had ended by itself: %v", err)
	}
	if err := r.command.Wait(); err != nil {
		r.t.Errorf("the replica ended with %v, want exit code 0", err)
	}
}

// lives wants the process of the replica to be there still.
func (r *replica) lives() {
	r.t.Helper()
	if err := r.command.Process.Signal(syscall.Signal(0)); err != nil || r.status("/livez") != http.StatusOK {
		r.t.Errorf("the process does not live on: %v", err)
	}
}

// status asks the operator's port; 0 for no answer.
func (r *replica) status(path string) int {
	status, _ := r.get(path)
	return status
}

func (r *replica) get(path string) (int, string) {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+r.Admin+path, nil)
	if err != nil {
		return 0, ""
	}
	answer, err := unpooled.Do(request)
	if err != nil {
		return 0, ""
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		return 0, ""
	}
	return answer.StatusCode, string(body)
}

// unpooled keeps no connection, which would count among the open descriptors.
var unpooled = &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}

// metric is the sum of the series of a metric whose text begins so.
func (r *replica) metric(prefix string) float64 {
	_, text := r.get("/metrics")
	return sumOf(text, prefix)
}

func sumOf(metrics, prefix string) (sum float64) {
	for line := range strings.Lines(metrics) {
		if !strings.HasPrefix(line, prefix) {
			continue
		}
		fields := strings.Fields(line)
		if value, err := strconv.ParseFloat(fields[len(fields)-1], 64); err == nil {
			sum += value
		}
	}
	return sum
}

// memory reads a line of the kernel's account of the process, such as VmRSS for
// the memory it holds and VmHWM for the most it ever held, in MiB.
func (r *replica) memory(name string) float64 {
	r.t.Helper()
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", r.command.Process.Pid))
	if err != nil {
		r.t.Fatalf("the process has ended: %v", err)
	}
	for line := range strings.Lines(string(text)) {
		var kibibytes float64
		if _, err := fmt.Sscanf(line, name+": %f kB", &kibibytes); err == nil {
			return kibibytes / 1024
		}
	}
	r.t.Fatalf("no %s in %s", name, text)
	return 0
}

// noDefects wants a log without a line of level ERROR.
func (r *replica) noDefects() {
	r.t.Helper()
	text, err := os.ReadFile(r.log)
	if err != nil || len(text) == 0 {
		r.t.Errorf("no log of the replica: %v", err)
	}
	for line := range bytes.Lines(text) {
		if bytes.Contains(line, []byte(`"level":"ERROR"`)) || !bytes.HasPrefix(line, []byte("{")) {
			r.t.Errorf("the log has a defect: %s", line)
			return
		}
	}
}

// freeAddress is an address of the loopback interface on which nobody listens,
// outside of the range from which the kernel takes the callers' ports.
func freeAddress(t *testing.T) string {
	t.Helper()
	for range 100 {
		address := fmt.Sprintf("127.0.0.1:%d", 20_000+rand.IntN(10_000))
		l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", address)
		if err == nil {
			_ = l.Close() // it served nobody
			return address
		}
	}
	t.Fatal("no free port")
	return ""
}

// eventually waits for something, and fails if it does not come within two
// minutes: so long that no machine is too slow.
func eventually(t *testing.T, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(2 * time.Minute); !is(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("waited in vain: %s", what)
		}
	}
}
