package main

import (
	"bytes"
	"context"
	"crypto/tls"
	"encoding/binary"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"maps"
	"net"
	"net/http"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/proto"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/program"
	"evenreach.example/internal/resilience/keepalive"
)

// drainAfter is the number of answers after which the program is told to stop:
// go test ./cmd/evenreach -run UnderLoad -drain-after 20000
var drainAfter = flag.Int("drain-after", 2000, "answers before SIGTERM in each case of TestDrainUnderLoad")

// load is callers at all doors who go on until nobody answers any more.
type load struct {
	address string
	rest    []byte
	message *evenreachv1.AssessRequest
	client  *http.Client
	conn    *grpc.ClientConn

	answers atomic.Int64
	mu      sync.Mutex
	got     map[string]bool // ids of the requests that were answered
}

// answered notes an answer.
func (l *load) answered(id string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.got[id] = true
	l.answers.Add(1)
}

// newLoad asks a program that serves with or without TLS; nil for without.
func newLoad(t *testing.T, p *process, secure *tls.Config) *load {
	t.Helper()
	scheme, security := "http://", insecure.NewCredentials()
	if secure != nil {
		scheme, security = "https://", credentials.NewTLS(secure)
	}
	conn, err := grpc.NewClient(p.GRPC, grpc.WithTransportCredentials(security))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 100, TLSClientConfig: secure, ForceAttemptHTTP2: true}}
	t.Cleanup(client.CloseIdleConnections)
	return &load{
		address: scheme + p.HTTP + "/fhir/$assess-shoulder",
		rest:    scenario(t),
		message: scenarioMessage(t),
		client:  client, conn: conn, got: map[string]bool{},
	}
}

// byREST asks once.
func (l *load) byREST(ctx context.Context, id string) error {
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, l.address, bytes.NewReader(l.rest))
	if err != nil {
		return err
	}
	r.Header.Set("Content-Type", "application/fhir+json")
	r.Header.Set("X-Request-Id", id)
	answer, err := l.client.Do(r)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK || !json.Valid(body) {
		return fmt.Errorf("status %d, %w", answer.StatusCode, err)
	}
	l.answered(id)
	return nil
}

// byGRPC asks once.
func (l *load) byGRPC(ctx context.Context, id string) error {
	ctx = metadata.AppendToOutgoingContext(ctx, "x-request-id", id)
	if _, err := evenreachv1.NewAssessmentServiceClient(l.conn).AssessJSON(ctx, &httpbody.HttpBody{Data: l.rest}); err != nil {
		return err
	}
	l.answered(id)
	return nil
}

// byStream asks on one stream until it ends.
func (l *load) byStream(ctx context.Context, id string) error {
	stream, err := evenreachv1.NewAssessmentServiceClient(l.conn).AssessStream(metadata.AppendToOutgoingContext(ctx, "x-request-id", id))
	if err != nil {
		return err
	}
	for n := 1; ; n++ {
		if err := stream.Send(&evenreachv1.AssessStreamRequest{Request: proto.CloneOf(l.message)}); err != nil {
			_, err := stream.Recv()
			return err
		}
		if _, err := stream.Recv(); err != nil {
			return err
		}
		l.answered(fmt.Sprintf("%s.%d", id, n))
	}
}

// run asks by a door until that fails. The door's name begins the ids.
func (l *load) run(ctx context.Context, door string, worker int, ask func(context.Context, string) error) {
	for n := 0; ctx.Err() == nil; n++ {
		if err := ask(ctx, fmt.Sprintf("%s-%d-%d", door, worker, n)); err != nil {
			return
		}
	}
}

// served are the requests that the log says were answered well; the program
// writes a line only once it has answered.
func served(lines <-chan string) map[string]bool {
	ids := map[string]bool{}
	for text := range lines {
		var line struct {
			Msg, Code, Operation string
			Status               int
			RequestID            string `json:"request_id"`
			Door                 string
		}
		if json.Unmarshal([]byte(text), &line) != nil || line.Msg != "request" {
			continue
		}
		stream := line.Door == "grpc" && line.Operation == evenreachv1.AssessmentService_AssessStream_FullMethodName
		if !stream && (line.Status == http.StatusOK || line.Code == "OK") {
			ids[line.RequestID] = true
		}
	}
	return ids
}

// Every request that the service took on was answered to its caller, though
// it was told to stop while callers at all doors went on.
func TestDrainUnderLoad(t *testing.T) {
	cert, key, pool, _ := certificate(t)
	tests := []struct {
		name   string
		flags  []string
		secure *tls.Config
	}{
		{"HTTP/1.1", nil, nil},
		{"TLS and HTTP/2", []string{"--tls-cert=" + cert, "--tls-key=" + key}, &tls.Config{RootCAs: pool}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := launch(t, append(tt.flags, "--drain-timeout=30s", "--drain-delay=300ms")...)
			drainUnderLoad(t, p, tt.secure)
		})
	}
}

func drainUnderLoad(t *testing.T, p *process, secure *tls.Config) {
	t.Helper()
	log := make(chan map[string]bool, 1)
	go func() { log <- served(p.lines) }()
	l := newLoad(t, p, secure)
	ctx, cancel := context.WithTimeoutCause(t.Context(), 5*time.Minute, errors.New("the load did not end"))
	defer cancel()
	var group sync.WaitGroup
	for worker := range 8 {
		group.Go(func() { l.run(ctx, "rest", worker, l.byREST) })
		group.Go(func() { l.run(ctx, "grpc", worker, l.byGRPC) })
		if worker < 2 {
			group.Go(func() { l.run(ctx, "stream", worker, l.byStream) })
		}
	}
	for l.answers.Load() < int64(*drainAfter) && ctx.Err() == nil {
		time.Sleep(time.Millisecond)
	}
	stopped := time.Now()
	atSignal := l.answers.Load()
	p.terminate()
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
	took := time.Since(stopped)
	group.Wait()
	if ctx.Err() != nil {
		t.Fatal(context.Cause(ctx))
	}
	admitted := <-log
	var lost []string
	for _, id := range slices.Sorted(maps.Keys(admitted)) {
		if !l.got[id] {
			lost = append(lost, id)
		}
	}
	if len(lost) > 0 || len(admitted) < *drainAfter {
		t.Errorf("%d of %d admitted requests lost: %.10v", len(lost), len(admitted), lost)
	}
	if len(l.got) != len(admitted) {
		t.Errorf("%d answers for %d lines in the log", len(l.got), len(admitted))
	}
	if took > 10*time.Second {
		t.Errorf("the drain took %v, want about its delay of 0.3 s", took)
	}
	t.Logf("%d admitted, %d of them after the signal; %d lost; drained in %v", len(admitted), int64(len(admitted))-atSignal, len(lost), took.Round(time.Millisecond))
}

// No request is lost on a connection that a caller keeps: during the delay each
// connection is given up with an answer, and new ones are served.
func TestDrainLosesNothingOnKeptConnections(t *testing.T) {
	p := launch(t, "--drain-timeout=30s", "--drain-delay=1s")
	var (
		group                         sync.WaitGroup
		asked, lost, anew, afterDrain atomic.Int64
		draining                      atomic.Bool
	)
	for range 8 {
		group.Go(func() {
			caller := keepalive.Caller{Address: p.HTTP}
			defer caller.Close()
			for body := scenario(t); ; time.Sleep(20 * time.Millisecond) {
				fresh, late := caller.IsNew(), draining.Load()
				_, _, err := caller.Post(t.Context(), "/fhir/$assess-shoulder", body)
				if errors.Is(err, keepalive.ErrLost) {
					lost.Add(1)
				}
				if err != nil {
					return
				}
				asked.Add(1)
				if late {
					afterDrain.Add(1)
				}
				if late && fresh {
					anew.Add(1)
				}
			}
		})
	}
	for asked.Load() < 200 {
		time.Sleep(time.Millisecond)
	}
	p.terminate()
	p.waitFor("draining")
	draining.Store(true)
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
	group.Wait()
	if lost.Load() > 0 || anew.Load() == 0 {
		t.Errorf("%d requests lost on kept connections, %d answered on new ones during the delay, want none and some", lost.Load(), anew.Load())
	}
	t.Logf("%d answered, %d of them after the signal, %d on new connections; %d lost", asked.Load(), afterDrain.Load(), anew.Load(), lost.Load())
}

// A call by gRPC whose message is on its way when the program is told to stop is
// answered.
func TestDrainAnswersRunningRPCs(t *testing.T) {
	p := launch(t, "--drain-timeout=10m", "--drain-delay=0s")
	message, err := proto.Marshal(&httpbody.HttpBody{Data: scenario(t)})
	if err != nil {
		t.Fatal(err)
	}
	// A message is prefixed with its length (gRPC over HTTP/2).
	frame := append(binary.BigEndian.AppendUint32([]byte{0}, uint32(len(message))), message...)
	var http2 http.Protocols
	http2.SetUnencryptedHTTP2(true)
	client := &http.Client{Transport: &http.Transport{Protocols: &http2}}
	t.Cleanup(client.CloseIdleConnections)
	reader, writer := io.Pipe()
	request, err := http.NewRequestWithContext(t.Context(), http.MethodPost, "http://"+p.GRPC+evenreachv1.AssessmentService_AssessJSON_FullMethodName, reader)
	if err != nil {
		t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/grpc")
	request.Header.Set("TE", "trailers")
	status := make(chan string, 1)
	go func() {
		answer, err := client.Do(request)
		if err != nil {
			status <- err.Error()
			return
		}
		_, err = io.Copy(io.Discard, answer.Body)
		_ = answer.Body.Close()
		status <- fmt.Sprint(answer.Trailer.Get("Grpc-Status"), " ", err)
	}()
	if _, err := writer.Write(frame[:100]); err != nil {
		t.Fatal(err)
	}
	p.until("/metrics", func(_ int, body string) bool {
		return strings.Contains(body, `evenreach_requests_in_flight{door="grpc"} 1`)
	})
	p.terminate()
	p.waitFor("draining")
	for { // until nobody is let in any more
		conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", p.GRPC)
		if err != nil {
			break
		}
		_ = conn.Close()
		time.Sleep(time.Millisecond)
	}
	time.Sleep(50 * time.Millisecond) // for a service that would cut the call
	if _, err := writer.Write(frame[100:]); err != nil {
		t.Fatal(err)
	}
	_ = writer.Close()
	if got := <-status; got != "0 <nil>" {
		t.Errorf("the call that ran at the signal ended with %q, want its answer", got)
	}
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
}
