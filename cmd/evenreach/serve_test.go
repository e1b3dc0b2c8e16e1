package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"

	"evenreach.example/internal/program"
)

// process is the program, serving on free ports of the loopback interface.
type process struct {
	t      *testing.T
	client *http.Client
	lines  chan string // of the log
	exit   chan int
	// The addresses, as logged.
	GRPC, HTTP, Admin string
}

// launch runs the program for everybody and waits until it serves.
func launch(t *testing.T, flags ...string) *process {
	t.Helper()
	p := begin(t, append([]string{"--insecure-no-auth"}, flags...)...)
	p.serves()
	return p
}

// begin runs the program.
func begin(t *testing.T, flags ...string) *process {
	t.Helper()
	p := &process{
		t:      t,
		client: &http.Client{Transport: &http.Transport{DisableKeepAlives: true}},
		lines:  make(chan string, 1000),
		exit:   make(chan int, 1),
	}
	reader, writer := io.Pipe()
	go func() {
		defer close(p.lines)
		for scanner := bufio.NewScanner(reader); scanner.Scan(); {
			p.lines <- scanner.Text()
		}
	}()
	go func() {
		args := append([]string{"serve", "--grpc-address=127.0.0.1:0", "--http-address=127.0.0.1:0", "--admin-address=127.0.0.1:0"}, flags...)
		p.exit <- evenreach.Run(context.Background(), args, program.Streams{In: strings.NewReader(""), Out: writer, Err: writer})
		_ = writer.Close()
	}()
	return p
}

// serves waits until the program serves, and notes where.
func (p *process) serves() {
	p.t.Helper()
	if err := json.Unmarshal([]byte(p.waitFor("serving")), p); err != nil {
		p.t.Fatal(err)
	}
}

// waitFor returns the next line of the log with a message.
func (p *process) waitFor(message string) string {
	p.t.Helper()
	for line := range p.lines {
		if strings.Contains(line, `"msg":"`+message+`"`) {
			return line
		}
	}
	p.t.Fatalf("the program ended without logging %q", message)
	return ""
}

// terminate tells the program to stop, as the kubelet does.
func (p *process) terminate() {
	p.t.Helper()
	if err := syscall.Kill(os.Getpid(), syscall.SIGTERM); err != nil {
		p.t.Fatal(err)
	}
}

// get asks the operator's port.
func (p *process) get(path string) (int, string) {
	p.t.Helper()
	return p.getAs(path, "*/*")
}

// getAs asks the operator's port for a media type.
func (p *process) getAs(path, accept string) (int, string) {
	p.t.Helper()
	request, err := http.NewRequestWithContext(p.t.Context(), http.MethodGet, "http://"+p.Admin+path, nil)
	if err != nil {
		p.t.Fatal(err)
	}
	request.Header.Set("Accept", accept)
	answer, err := p.client.Do(request)
	if err != nil {
		p.t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		p.t.Fatal(err)
	}
	return answer.StatusCode, string(body)
}

// until asks the operator's port until it answers as wanted.
func (p *process) until(path string, wanted func(status int, body string) bool) {
	p.t.Helper()
	for {
		if status, body := p.get(path); wanted(status, body) {
			return
		}
		time.Sleep(time.Millisecond)
	}
}

// post begins a request whose body is yet to come. The answer's status comes
// over the channel, 0 if there is none.
func (p *process) post() (body *io.PipeWriter, answered <-chan int) {
	p.t.Helper()
	reader, writer := io.Pipe()
	request, err := http.NewRequestWithContext(p.t.Context(), http.MethodPost, "http://"+p.HTTP+"/fhir/$assess-shoulder", reader)
	if err != nil {
		p.t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/fhir+json")
	statuses := make(chan int, 1)
	go func() {
		answer, err := p.client.Do(request)
		if err != nil {
			statuses <- 0
			return
		}
		_, _ = io.Copy(io.Discard, answer.Body)
		_ = answer.Body.Close()
		statuses <- answer.StatusCode
	}()
	return writer, statuses
}

func inFlight(status int, body string) bool {
	return strings.Contains(body, `evenreach_requests_in_flight{door="http"} 1`)
}

func scenario(t *testing.T) []byte {
	t.Helper()
	body, err := os.ReadFile(filepath.FromSlash("../../testdata/scenarios/six-weeks-after-repair/input.json"))
	if err != nil {
		t.Fatal(err)
	}
	return body
}

func TestDrainLosesNoAdmittedRequest(t *testing.T) {
	p := launch(t, "--drain-timeout=10m", "--drain-delay=0s")
	if status, _ := p.get("/readyz"); status != http.StatusOK {
		t.Fatalf("/readyz says %d while serving, want 200", status)
	}
	conn, err := grpc.NewClient(p.GRPC, grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	health, err := grpc_health_v1.NewHealthClient(conn).Check(t.Context(), &grpc_health_v1.HealthCheckRequest{Service: evenreachv1.AssessmentService_ServiceDesc.ServiceName})
	if err != nil || health.GetStatus() != grpc_health_v1.HealthCheckResponse_SERVING {
		t.Fatalf("health is %v, %v, want SERVING", health, err)
	}
	stream, err := evenreachv1.NewAssessmentServiceClient(conn).AssessStream(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := stream.Send(&evenreachv1.AssessStreamRequest{}); err != nil {
		t.Fatal(err)
	}
	if _, err := stream.Recv(); err != nil { // the stream has begun
		t.Fatal(err)
	}
	body, answered := p.post()
	p.until("/metrics", inFlight)

	p.terminate()
	p.waitFor("draining")
	p.until("/readyz", func(status int, _ string) bool { return status == http.StatusServiceUnavailable })
	if status, _ := p.get("/livez"); status != http.StatusOK {
		t.Errorf("/livez says %d while draining, want 200", status)
	}
	if _, err := stream.Recv(); status.Code(err) != codes.Unavailable {
		t.Errorf("the stream ended with %v, want Unavailable", err)
	}
	if _, err := body.Write(scenario(t)); err != nil {
		t.Fatal(err)
	}
	if err := body.Close(); err != nil {
		t.Fatal(err)
	}
	if status := <-answered; status != http.StatusOK {
		t.Errorf("the request that was running got status %d, want 200", status)
	}
	p.waitFor("stopped")
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
}

func TestDrainEndsInTime(t *testing.T) {
	p := launch(t, "--drain-timeout=50ms", "--drain-delay=0s")
	body, answered := p.post()
	p.until("/metrics", inFlight)
	p.terminate()
	p.waitFor("requests were cut off at the end of the drain")
	p.waitFor("stopped")
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
	_ = body.CloseWithError(io.ErrUnexpectedEOF)
	<-answered
}

func TestServeReportsEveryAddressInUse(t *testing.T) {
	p := launch(t, "--drain-delay=0s")
	var errors strings.Builder
	code := evenreach.Run(t.Context(), []string{"serve", "--grpc-address=" + p.GRPC, "--http-address=" + p.HTTP, "--admin-address=127.0.0.1:0", "--insecure-no-auth"},
		program.Streams{In: strings.NewReader(""), Out: io.Discard, Err: &errors})
	if code != program.Refused || strings.Count(errors.String(), "address already in use") != 2 {
		t.Errorf("exit code %d, want 1 with both addresses: %s", code, &errors)
	}
	p.terminate()
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
}

func TestVersionIsTold(t *testing.T) {
	p := launch(t, "--drain-delay=0s")
	want := fmt.Sprintf("evenreach_build_info{version=%q} 1", program.Version())
	if _, body := p.get("/metrics"); !strings.Contains(body, want) {
		t.Errorf("/metrics does not say %s", want)
	}
	p.terminate()
	<-p.exit
}
