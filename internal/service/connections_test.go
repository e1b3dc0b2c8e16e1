package service

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/connectivity"
	"google.golang.org/grpc/credentials/insecure"
	healthpb "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/ops"
)

// closes reports whether the answer to a request gives its connection up.
func closes(t *testing.T, client *http.Client, address string) bool {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, "http://"+address+operationPath, strings.NewReader(text(t, good())))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/fhir+json")
	w, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Body.Close()
	if _, err := io.Copy(io.Discard, w.Body); err != nil {
		t.Fatal(err)
	}
	return w.Close
}

func newClient(t *testing.T) *http.Client {
	t.Helper()
	client := &http.Client{Transport: &http.Transport{}}
	t.Cleanup(client.CloseIdleConnections)
	return client
}

// Source: RFC 9112, section 9.6: after "close" a client sends nothing more, so that
// nothing is lost when the connection ends.
func TestConnectionsAreGivenUp(t *testing.T) {
	h := startWith(t, Config{MaxConcurrent: 8, MaxConnectionAge: time.Hour}, anyone)
	address, client := h.listen(asItIs), newClient(t)
	if closes(t, client, address) {
		t.Error("a young connection was given up")
	}
	for range cap(h.server.capacity.room) {
		h.server.capacity.room <- struct{}{}
	}
	if !closes(t, client, address) {
		t.Error("503 keeps its connection, want it given up, for another replica may have room")
	}
	for range cap(h.server.capacity.room) {
		h.server.capacity.room.leave()
	}
	if closes(t, client, address) {
		t.Error("a young connection was given up once there was room")
	}
	h.server.Leave()
	if !closes(t, client, address) {
		t.Error("a service that leaves keeps a connection")
	}
}

func TestOldConnectionsAreGivenUp(t *testing.T) {
	h := startWith(t, Config{MaxConcurrent: 8, MaxConnectionAge: time.Nanosecond}, anyone)
	if !closes(t, newClient(t), h.listen(asItIs)) {
		t.Error("an old connection was kept")
	}
	h = startWith(t, Config{MaxConcurrent: 8}, anyone)
	if closes(t, newClient(t), h.listen(asItIs)) {
		t.Error("a connection was given up though there is no age at which it is")
	}
}

// Connections of one moment are not given up at one moment.
func TestAgesDiffer(t *testing.T) {
	s := startWith(t, Config{MaxConcurrent: 8, MaxConnectionAge: time.Hour}, anyone).server
	least, most := time.Duration(1<<62), time.Duration(0)
	for range 1000 {
		retire, ok := s.retiring(t.Context(), nil).Value(retireKey{}).(time.Time)
		if !ok {
			t.Fatal("a connection does not know when it is given up")
		}
		age := time.Until(retire)
		least, most = min(least, age), max(most, age)
	}
	if least < 53*time.Minute || most > 66*time.Minute || most-least < 6*time.Minute {
		t.Errorf("ages between %v and %v, want an hour give or take a tenth", least, most)
	}
}

func TestOldConnectionsByGRPC(t *testing.T) {
	// grpc-go takes no age of less than a second.
	h := startWith(t, Config{MaxConcurrent: 8, MaxConnectionAge: time.Second}, anyone)
	conn := h.connect()
	if _, err := healthpb.NewHealthClient(conn).Check(t.Context(), &healthpb.HealthCheckRequest{}); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	if !conn.WaitForStateChange(ctx, connectivity.Ready) {
		t.Error("an old connection was kept for a minute")
	}
}

func TestConnectionsAreLimited(t *testing.T) {
	registry := prometheus.NewRegistry()
	metrics, _ := ops.NewConnectionMetrics(registry)
	inner, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer inner.Close()
	l, accepted := LimitConnections(inner, 2, metrics), make(chan net.Conn, 10)
	go func() {
		for {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			accepted <- conn
		}
	}()
	dial := func() net.Conn {
		conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", inner.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = conn.Close() })
		return conn
	}
	dial()
	dial()
	first, second := <-accepted, <-accepted
	third := dial()
	_ = third.SetDeadline(time.Now().Add(time.Minute))
	if _, err := third.Read(make([]byte, 1)); err == nil || strings.Contains(err.Error(), "timeout") {
		t.Errorf("a third connection was kept: %v", err)
	}
	_, _ = first.Close(), first.Close() // the second time changes nothing
	dial()
	fourth := <-accepted
	text := scrapeOf(registry)
	for _, want := range []string{`evenreach_connections{door="http"} 2`, `evenreach_connections_refused_total{door="http"} 1`, `evenreach_connections{door="grpc"} 0`} {
		if !strings.Contains(text, want) {
			t.Errorf("/metrics does not say %s:\n%s", want, text)
		}
	}
	_, _ = second.Close(), fourth.Close()
}

// Callers without a token may watch the health, but not without a limit.
func TestWatchersAreLimited(t *testing.T) {
	h := startWith(t, Config{MaxConcurrent: 8, MaxConnections: 2}, anyone)
	client := healthpb.NewHealthClient(h.connect())
	watch := func() error {
		stream, err := client.Watch(t.Context(), &healthpb.HealthCheckRequest{})
		if err != nil {
			return err
		}
		_, err = stream.Recv()
		return err
	}
	for range 2 {
		if err := watch(); err != nil {
			t.Fatal(err)
		}
	}
	if err := watch(); status.Code(err) != codes.ResourceExhausted {
		t.Errorf("a third watcher: %v, want ResourceExhausted", err)
	}
	if _, err := client.Check(t.Context(), &healthpb.HealthCheckRequest{}); err != nil {
		t.Errorf("a probe beside the watchers: %v, want an answer", err)
	}
}

func TestStreamsAreLimited(t *testing.T) {
	h := startWith(t, Config{MaxConcurrent: 2}, anyone)
	begin := func() error {
		stream, err := h.dial().AssessStream(t.Context())
		if err != nil {
			return err
		}
		// A stream that is refused at once ends the sending; why, the receiving tells.
		if err := stream.Send(&evenreachv1.AssessStreamRequest{}); err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		_, err = stream.Recv()
		return err
	}
	for range 2 {
		if err := begin(); err != nil {
			t.Fatal(err)
		}
	}
	if err := begin(); status.Code(err) != codes.Unavailable {
		t.Errorf("a third stream: %v, want Unavailable", err)
	}
}

// One connection has no more calls at a time than there is room for.
//
// Source: RFC 9113, SETTINGS_MAX_CONCURRENT_STREAMS.
func TestCallsOfAConnectionAreLimited(t *testing.T) {
	h := startWith(t, Config{MaxConcurrent: 2, MaxConnections: 10}, anyone)
	client := healthpb.NewHealthClient(h.connect())
	for range 2 {
		stream, err := client.Watch(t.Context(), &healthpb.HealthCheckRequest{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := stream.Recv(); err != nil {
			t.Fatal(err)
		}
	}
	ctx, cancel := context.WithTimeout(t.Context(), 300*time.Millisecond)
	defer cancel()
	if _, err := client.Check(ctx, &healthpb.HealthCheckRequest{}); status.Code(err) != codes.DeadlineExceeded {
		t.Errorf("a third call on the connection: %v, want it to wait", err)
	}
}

// serveGRPC serves gRPC on a port of the loopback interface.
func (h *harness) serveGRPC() string {
	h.t.Helper()
	l, err := (&net.ListenConfig{}).Listen(h.t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		h.t.Fatal(err)
	}
	g, done := h.server.GRPC(ops.NewHealth().GRPC()), make(chan struct{})
	go func() {
		defer close(done)
		_ = g.Serve(l) // it says that it was stopped
	}()
	h.t.Cleanup(func() {
		g.Stop()
		<-done
	})
	return l.Addr().String()
}

// A caller who connects and says nothing, or who is gone, is given up.
func TestSilentCallersByGRPC(t *testing.T) {
	saved, savedPing, savedTimeout := connectionTimeout, pingAfter, pingTimeout
	t.Cleanup(func() { connectionTimeout, pingAfter, pingTimeout = saved, savedPing, savedTimeout })
	connectionTimeout, pingAfter, pingTimeout = 200*time.Millisecond, time.Second, 200*time.Millisecond
	address := start(t).serveGRPC()
	for name, sent := range map[string]string{
		"nothing": "",
		// An empty SETTINGS frame (RFC 9113, 3.4) and then no answer to a ping.
		"a preface": "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n\x00\x00\x00\x04\x00\x00\x00\x00\x00",
	} {
		t.Run(name, func(t *testing.T) {
			conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", address)
			if err != nil {
				t.Fatal(err)
			}
			defer conn.Close()
			_ = conn.SetDeadline(time.Now().Add(9 * time.Second))
			if _, err := io.WriteString(conn, sent); err != nil {
				t.Fatal(err)
			}
			if _, err := io.Copy(io.Discard, conn); err != nil && strings.Contains(err.Error(), "timeout") {
				t.Error("the connection was kept for 9 s")
			}
		})
	}
	conn, err := grpc.NewClient(address, grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	stream, err := healthpb.NewHealthClient(conn).Watch(t.Context(), &healthpb.HealthCheckRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := stream.Recv(); err != nil {
		t.Errorf("a caller who answers: %v, want the health", err)
	}
}
