package service

import (
	"context"
	"encoding/json"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/test/bufconn"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/ops/opstest"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/wording"
)

// harness is a running service with everything it tells, all of it traced.
type harness struct {
	t        *testing.T
	server   *Server
	handler  http.Handler
	registry *prometheus.Registry
	log      *opstest.Log
	traces   *opstest.Collector
}

// today is the edge's clock in tests: a week after the fixture's measurements.
var today = time.Date(2026, 3, 9, 12, 0, 0, 0, time.UTC)

func testPipeline() *Pipeline {
	return &Pipeline{
		Protocols: Protocols{protocol.Default()},
		Words:     wording.For("en"),
		Version:   "test",
		Now:       func() time.Time { return today },
	}
}

// start starts a service that answers up to 8 requests at a time, of anyone.
func start(t *testing.T) *harness {
	t.Helper()
	return startFor(t, anyone)
}

// anyone lets in everybody.
func anyone(*ops.AuthMetrics, *slog.Logger) Authenticator { return auth.Anyone{} }

// startFor starts a service that answers some callers.
func startFor(t *testing.T, callers func(*ops.AuthMetrics, *slog.Logger) Authenticator) *harness {
	t.Helper()
	return startWith(t, Config{MaxConcurrent: 8}, callers)
}

// startWith starts a service with a configuration.
func startWith(t *testing.T, c Config, callers func(*ops.AuthMetrics, *slog.Logger) Authenticator) *harness {
	t.Helper()
	h := &harness{t: t, registry: prometheus.NewRegistry(), log: &opstest.Log{}, traces: &opstest.Collector{}}
	pipeline := testPipeline()
	watch := ops.NewWatch(ops.NewMetrics(h.registry, "test", pipeline.Protocols), ops.NewLogger(h.log, slog.LevelDebug))
	watch.LogPeers(ops.PeerRefused)
	watch.Trace(h.traces.Provider(t))
	c.Callers = ops.NewAuthMetrics(h.registry)
	h.server = New(pipeline, watch, callers(c.Callers, ops.NewLogger(h.log, slog.LevelDebug)), c)
	var err error
	if h.handler, err = h.server.Handler(); err != nil {
		t.Fatal(err)
	}
	return h
}

// pipeline is the one that answers those who belong to no tenant.
func (h *harness) pipeline() *Pipeline { return h.server.current.Load().common.pipeline }

const operationPath = "/fhir/$assess-shoulder"

// request is a POST of JSON to the operation. Further headers are in pairs.
func request(body string, headers ...string) *http.Request {
	r := httptest.NewRequestWithContext(context.Background(), http.MethodPost, operationPath, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/fhir+json")
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	return r
}

// do answers a request by HTTP.
func (h *harness) do(r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	h.handler.ServeHTTP(w, r)
	return w
}

// dial serves gRPC in memory and returns a client.
func (h *harness) dial() evenreachv1.AssessmentServiceClient {
	h.t.Helper()
	return evenreachv1.NewAssessmentServiceClient(h.connect())
}

// connect serves gRPC in memory and returns a connection.
func (h *harness) connect() *grpc.ClientConn {
	h.t.Helper()
	listener := bufconn.Listen(1 << 20)
	g := h.server.GRPC(ops.NewHealth().GRPC())
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := g.Serve(listener); err != nil {
			h.t.Error(err)
		}
	}()
	conn, err := grpc.NewClient("passthrough:///memory",
		grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return listener.DialContext(ctx) }),
		grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithDefaultCallOptions(grpc.MaxCallSendMsgSize(32<<20)))
	if err != nil {
		h.t.Fatal(err)
	}
	h.t.Cleanup(func() {
		_ = conn.Close()
		g.Stop()
		<-done
	})
	return conn
}

// issue is one issue of an OperationOutcome, as a caller reads it.
type issue struct {
	Severity string
	Code     string
	Details  struct {
		Coding []struct{ Code string }
		Text   string
	}
	Diagnostics string
	Expression  []string
}

// kind is the code of our own code system.
func (i issue) kind() string {
	if len(i.Details.Coding) == 0 {
		return ""
	}
	return i.Details.Coding[0].Code
}

// outcomeOf reads the OperationOutcome of an answer: the answer itself, or an
// entry of the Bundle that it is.
func outcomeOf(t *testing.T, body []byte) []issue {
	t.Helper()
	var answer struct {
		ResourceType string
		Issue        []issue
		Entry        []struct {
			Resource struct {
				ResourceType string
				Issue        []issue
			}
		}
	}
	if err := json.Unmarshal(body, &answer); err != nil {
		t.Fatalf("the answer is not JSON: %v: %.200s", err, body)
	}
	if answer.ResourceType == "OperationOutcome" {
		return answer.Issue
	}
	for _, e := range answer.Entry {
		if e.Resource.ResourceType == "OperationOutcome" {
			return e.Resource.Issue
		}
	}
	t.Fatalf("no OperationOutcome in the answer: %.400s", body)
	return nil
}
