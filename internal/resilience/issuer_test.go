//go:build resilience

package resilience

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/auth/authtest"
)

const issuerName = "https://id.hospital.example"

// issuer is an authorization server that can be taken down.
type issuer struct {
	*httptest.Server
	down atomic.Bool
}

func startIssuer(t *testing.T) *issuer {
	t.Helper()
	i := &issuer{}
	i.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		if i.down.Load() {
			panic(http.ErrAbortHandler) // hangs up
		}
		w.Header().Set("Cache-Control", "max-age=1") // kept for a minute all the same, see internal/auth
		_, _ = w.Write(authtest.KeySet())
	}))
	t.Cleanup(i.Close)
	return i
}

// guarded is a replica that accepts the tokens of an issuer.
func guarded(t *testing.T, i *issuer) *replica {
	t.Helper()
	return run(t, "--auth-issuers="+issuerName+"="+i.URL, "--auth-audience="+authtest.Audience)
}

// asks with a token by REST.
func (r *replica) asks(token string, body []byte) (status int, header http.Header, answer []byte) {
	r.t.Helper()
	request, err := http.NewRequestWithContext(context.Background(), http.MethodPost, "http://"+r.HTTP+operation, bytes.NewReader(body))
	if err != nil {
		r.t.Fatal(err)
	}
	request.Header.Set("Content-Type", "application/fhir+json")
	request.Header.Set("Authorization", "Bearer "+token)
	got, err := unpooled.Do(request)
	if err != nil {
		r.t.Fatal(err)
	}
	defer got.Body.Close()
	answer, err = io.ReadAll(got.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	return got.StatusCode, got.Header, answer
}

// asksByGRPC with a token.
func (r *replica) asksByGRPC(token string, body []byte) codes.Code {
	r.t.Helper()
	connection, err := grpc.NewClient(r.GRPC, grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		r.t.Fatal(err)
	}
	defer connection.Close()
	ctx := metadata.AppendToOutgoingContext(context.Background(), "authorization", "Bearer "+token)
	_, err = evenreachv1.NewAssessmentServiceClient(connection).AssessJSON(ctx, &httpbody.HttpBody{Data: body})
	return status.Code(err)
}

// While an issuer is down the last keys serve until they expire; then callers
// are told to come back, and are let in once it is there again.
func TestIssuerGoesDown(t *testing.T) {
	t.Parallel()
	i, s := startIssuer(t), scenarios(t)[0]
	r := guarded(t, i)
	token := func() string { return authtest.New(issuerName).Sign(t) }
	answered := func(when string) {
		t.Helper()
		if status, _, answer := r.asks(token(), s.input); status != http.StatusOK || !bytes.Equal(answer, s.answer) {
			t.Errorf("%s: status %d, want the answer", when, status)
		}
	}
	answered("at first")
	i.down.Store(true)
	const failed = `evenreach_jwks_fetches_total{issuer="` + issuerName + `",result="failed"}`
	eventually(t, "the keys could not be renewed", func() bool { return r.metric(failed) > 0 })
	answered("the issuer is down, its keys are there")
	var header http.Header
	eventually(t, "the keys have expired", func() bool {
		status, h, _ := r.asks(token(), s.input)
		header = h
		return status == http.StatusServiceUnavailable
	})
	if header.Get("Retry-After") == "" {
		t.Error("503 without Retry-After")
	}
	eventually(t, "the replica says that nobody can be let in", func() bool { return r.status("/readyz") == http.StatusServiceUnavailable })
	if usable := r.metric("evenreach_jwks_usable"); usable != 0 {
		t.Errorf("the gauge of usable keys says %v, want 0", usable)
	}
	if code := r.asksByGRPC(token(), s.input); code != codes.Unavailable {
		t.Errorf("gRPC: %v without keys, want Unavailable", code)
	}
	r.lives()
	i.down.Store(false)
	eventually(t, "callers are let in again", func() bool {
		status, _, _ := r.asks(token(), s.input)
		return status == http.StatusOK
	})
	answered("the issuer is back")
	r.ready()
	r.noDefects()
}

// The clocks of the issuer and of the service drift apart: within the leeway of
// 60 s nothing happens, beyond it tokens are refused, and the next good one is
// let in. The keys do not hang on the time of day.
func TestIssuersClockIsOff(t *testing.T) {
	t.Parallel()
	i, s := startIssuer(t), scenarios(t)[0]
	r := guarded(t, i)
	tests := []struct {
		name   string
		ahead  time.Duration
		status int
	}{
		{"in step", 0, http.StatusOK},
		{"half a minute ahead", 30 * time.Second, http.StatusOK},
		{"an hour ahead", time.Hour, http.StatusUnauthorized},
		{"back in step", 0, http.StatusOK},
		{"an hour behind", -time.Hour, http.StatusUnauthorized},
		{"back in step again", 0, http.StatusOK},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			now := time.Now().Add(tt.ahead)
			token := authtest.New(issuerName).With(map[string]any{
				"iat": now.Unix(), "nbf": now.Unix(), "exp": now.Add(5 * time.Minute).Unix(),
			}).Sign(t)
			status, _, answer := r.asks(token, s.input)
			if status != tt.status || status == http.StatusOK && !bytes.Equal(answer, s.answer) {
				t.Errorf("status %d, want %d", status, tt.status)
			}
		})
	}
}
