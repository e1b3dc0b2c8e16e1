package service

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	healthpb "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/ops"
)

const issuerName = "https://id.hospital.example"

// startGuarded starts a service that lets in clients of the test's issuer,
// whose keys are answered as given.
func startGuarded(t *testing.T, keys http.Handler) (*harness, *auth.Authenticator) {
	t.Helper()
	return startGuardedWith(t, Config{MaxConcurrent: 8}, keys)
}

// startGuardedWith does so with a configuration.
func startGuardedWith(t *testing.T, c Config, keys http.Handler) (*harness, *auth.Authenticator) {
	t.Helper()
	issuer := httptest.NewServer(keys)
	client := &http.Client{Transport: &http.Transport{}}
	var callers *auth.Authenticator
	h := startWith(t, c, func(metrics *ops.AuthMetrics, log *slog.Logger) Authenticator {
		callers = auth.New(auth.Config{
			Issuers:    []auth.Issuer{{Name: issuerName, Keys: issuer.URL}, {Name: "https://other.hospital.example", Keys: issuer.URL + "/other"}},
			Audience:   authtest.Audience,
			Algorithms: []jose.SignatureAlgorithm{jose.RS384, jose.ES384},
			Clients:    []string{authtest.ClientID},
			HTTP:       client,
		}, metrics, log)
		return callers
	})
	ctx, stop := context.WithCancel(context.Background())
	var group sync.WaitGroup
	group.Go(func() { callers.Run(ctx) })
	t.Cleanup(func() {
		stop()
		group.Wait()
		client.CloseIdleConnections()
		issuer.Close()
	})
	return h, callers
}

// twoIssuers answers the keys of the test's issuer, and others to the second.
func twoIssuers() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("/", authtest.Serve(authtest.KeySet()))
	mux.Handle("/other", authtest.Serve(authtest.Published(jose.JSONWebKey{Key: authtest.P256().Public(), KeyID: "other"})))
	return mux
}

// guarded starts a service whose issuers' keys are there.
func guarded(t *testing.T) *harness {
	t.Helper()
	h, callers := startGuarded(t, twoIssuers())
	<-callers.Ready()
	return h
}

// doors are the answers of all doors to the same credentials.
type doors struct {
	rest          *httptest.ResponseRecorder
	unary, stream error
	challenge     []string // of the unary call
}

// try asks at all doors at once with the values of the header Authorization.
func (h *harness) try(client evenreachv1.AssessmentServiceClient, authorization ...string) (d doors) {
	h.t.Helper()
	input := text(h.t, good())
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	for _, value := range authorization {
		ctx = metadata.AppendToOutgoingContext(ctx, "authorization", value)
	}
	var group sync.WaitGroup
	group.Go(func() {
		r := request(input)
		r.Header["Authorization"] = authorization
		d.rest = h.do(r)
	})
	group.Go(func() {
		var header metadata.MD
		_, d.unary = client.AssessJSON(ctx, &httpbody.HttpBody{Data: []byte(input)}, grpc.Header(&header))
		d.challenge = header.Get("www-authenticate")
	})
	group.Go(func() { d.stream = oneOfAStream(ctx, client) })
	group.Wait()
	return d
}

// oneOfAStream opens a stream and waits for the answer to a request.
func oneOfAStream(ctx context.Context, client evenreachv1.AssessmentServiceClient) error {
	stream, err := client.AssessStream(ctx)
	if err != nil {
		return err
	}
	_ = stream.Send(&evenreachv1.AssessStreamRequest{}) // what ended the stream is what Recv says
	_, err = stream.Recv()
	return err
}

// want checks that all doors gave the same answer.
func (d doors) want(t *testing.T, httpStatus int, code codes.Code, reason, source string) {
	t.Helper()
	if d.rest.Code != httpStatus {
		t.Errorf("REST: status %d, want %d (%s): %.300s", d.rest.Code, httpStatus, source, d.rest.Body)
	}
	if got := status.Code(d.unary); got != code {
		t.Errorf("gRPC: code %v, want %v (%s): %v", got, code, source, d.unary)
	}
	if got := status.Code(d.stream); got != code {
		t.Errorf("stream: code %v, want %v (%s): %v", got, code, source, d.stream)
	}
	if !strings.Contains(d.rest.Header().Get("WWW-Authenticate"), reason) || reason != "" && (len(d.challenge) != 1 || !strings.Contains(d.challenge[0], reason)) {
		t.Errorf("WWW-Authenticate %q by REST, %q by gRPC, want %q in it", d.rest.Header().Get("WWW-Authenticate"), d.challenge, reason)
	}
}

func TestKnownClientIsAnswered(t *testing.T) {
	h := guarded(t)
	h.try(h.dial(), "Bearer "+authtest.New(issuerName).Sign(t)).want(t, 200, codes.OK, "", "it is let in")
	for _, door := range []ops.Door{ops.HTTP, ops.GRPC, ops.Stream} {
		line := regexp.MustCompile(`"door":"` + string(door) + `".*"client_id":"` + authtest.ClientID + `"`)
		if !line.MatchString(h.log.String()) {
			t.Errorf("no line of the door %s names the client: %s", door, h.log)
		}
	}
}

func TestHealthNeedsNoToken(t *testing.T) {
	h := guarded(t)
	if _, err := healthpb.NewHealthClient(h.connect()).Check(context.Background(), &healthpb.HealthCheckRequest{}); err != nil {
		t.Errorf("error %v, want an answer: a balancer has no token", err)
	}
}

func TestAddressesAreNotToldToStrangers(t *testing.T) {
	if got := guarded(t).do(method(http.MethodGet, "/fhir/nothing")).Code; got != http.StatusUnauthorized {
		t.Errorf("status %d for an address that is none, want 401 before it is looked at", got)
	}
}

func TestStreamEndsWithItsToken(t *testing.T) {
	h := guarded(t)
	client := h.dial()
	// With the leeway of a minute it has two seconds left.
	token := authtest.New(issuerName).With(map[string]any{"exp": time.Now().Add(-58 * time.Second).Unix()})
	ctx, cancel := context.WithTimeout(metadata.AppendToOutgoingContext(context.Background(), "authorization", "Bearer "+token.Sign(t)), time.Minute)
	defer cancel()
	stream, err := client.AssessStream(ctx)
	if err != nil {
		t.Fatal(err)
	}
	if err := stream.Send(&evenreachv1.AssessStreamRequest{}); err != nil {
		t.Fatal(err)
	}
	if _, err := stream.Recv(); err != nil {
		t.Fatalf("the first request got %v, want an answer", err)
	}
	if _, err := stream.Recv(); status.Code(err) != codes.Unauthenticated {
		t.Errorf("the stream ended with %v, want Unauthenticated once the token has expired", err)
	}
}
