package service

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/ops"
)

// named takes the token for the name of the client.
type named struct{}

func (named) Authenticate(_ context.Context, shown auth.Credentials) (auth.Caller, error) {
	return auth.Caller{Client: strings.Join(shown.Authorization, "")}, nil
}

func startFair(t *testing.T, f Fairness) *harness {
	t.Helper()
	return startWith(t, Config{MaxConcurrent: 8, Fairness: f}, func(*ops.AuthMetrics, *slog.Logger) Authenticator { return named{} })
}

// One client's backfill is told to come back, and the others are answered, by each door.
func TestClientsHaveShares(t *testing.T) {
	for limit, f := range map[string]Fairness{"rate": {Rate: 0.001, Burst: 2}, "concurrent": {Concurrent: 2}} {
		t.Run(limit, func(t *testing.T) {
			h := startFair(t, f)
			for range 2 { // take all of it
				if _, err := h.server.sharesOf(t.Context()).enter("backfill"); err != nil {
					t.Fatal(err)
				}
			}
			w := h.do(request(text(t, good()), "Authorization", "backfill"))
			if w.Code != http.StatusTooManyRequests || w.Header().Get("Retry-After") == "" || w.Header().Get("Connection") == "close" {
				t.Errorf("HTTP %d, Retry-After %q, Connection %q; want 429 with a time, on a connection that is kept", w.Code, w.Header().Get("Retry-After"), w.Header().Get("Connection"))
			}
			if issues := outcomeOf(t, w.Body.Bytes()); len(issues) != 1 || issues[0].Code != "throttled" || issues[0].kind() != "throttled" {
				t.Errorf("issues %+v, want one that is throttled", issues)
			}
			client := h.dial()
			ask := func(name string) (metadata.MD, error) {
				var trailer metadata.MD
				_, err := client.Assess(metadata.AppendToOutgoingContext(t.Context(), "authorization", name),
					&evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}, grpc.Trailer(&trailer))
				return trailer, err
			}
			if trailer, err := ask("backfill"); status.Code(err) != codes.ResourceExhausted || len(trailer.Get("grpc-retry-pushback-ms")) != 1 {
				t.Errorf("by gRPC %v with %v, want ResourceExhausted and when to ask again", err, trailer)
			}
			if w := h.do(request(text(t, good()), "Authorization", "clinic")); w.Code != http.StatusOK {
				t.Errorf("HTTP %d for another client, want 200", w.Code)
			}
			if w := h.do(request(text(t, good()))); w.Code != http.StatusOK {
				t.Errorf("HTTP %d without a client, want 200", w.Code)
			}
			for _, want := range []string{
				fmt.Sprintf(`evenreach_client_throttled_total{client="backfill",limit=%q,tenant=""} 2`, limit),
				`evenreach_client_requests_total{client="clinic",tenant=""} 1`,
				`evenreach_client_requests_total{client="backfill",tenant=""} 2`,
				`evenreach_client_seconds_total{client="clinic",tenant=""} `,
				`evenreach_refusals_total{code="throttled"} 2`,
			} {
				if !strings.Contains(h.scrape(), want) {
					t.Errorf("/metrics does not say %s", want)
				}
			}
		})
	}
}

// A request leaves its place, whatever becomes of it.
func TestSharesAreGivenBack(t *testing.T) {
	h := startFair(t, Fairness{Concurrent: 1})
	client := h.dial()
	for range 3 {
		if w := h.do(request(text(t, good()), "Authorization", "clinic")); w.Code != http.StatusOK {
			t.Fatalf("HTTP %d, want 200", w.Code)
		}
		if w := h.do(request("{", "Authorization", "clinic")); w.Code != http.StatusBadRequest {
			t.Fatalf("HTTP %d for what is no JSON, want 400", w.Code)
		}
		ctx := metadata.AppendToOutgoingContext(t.Context(), "authorization", "clinic")
		if _, err := client.Assess(ctx, &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}); err != nil {
			t.Fatal(err)
		}
		stream, err := client.AssessStream(ctx)
		if err != nil {
			t.Fatal(err)
		}
		if err := stream.Send(&evenreachv1.AssessStreamRequest{Request: &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}}); err != nil {
			t.Fatal(err)
		}
		if answer, err := stream.Recv(); err != nil || answer.GetAssessed() == nil {
			t.Fatalf("by a stream %v, %v; want an answer", answer, err)
		}
		_ = stream.CloseSend()
	}
}

// The rate is that of a token bucket: a burst, and then so many a second; and a stream waits for
// its turn.
func TestRateOfShares(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := newShares(Fairness{Rate: 10, Burst: 5}, startFair(t, Fairness{}).server.watch, "")
		taken := func() (n int) {
			for {
				if _, err := h.enter("a"); err != nil {
					return n
				}
				n++
			}
		}
		if got := taken(); got != 5 {
			t.Errorf("%d at once, want the burst of 5", got)
		}
		time.Sleep(300 * time.Millisecond)
		if got := taken(); got != 3 {
			t.Errorf("%d after 0.3 s, want 3 at 10 a second: what is refused costs nothing", got)
		}
		_, err := h.enter("a")
		if refused, ok := errors.AsType[*tooMany](err); !ok || refused.again != 100*time.Millisecond || retryAfter(err) != "1" {
			t.Errorf("%v, want to be told to ask again in 0.1 s, which is 1 in whole seconds", err)
		}
		begin := time.Now()
		if _, err := h.wait(t.Context(), "a"); err != nil || time.Since(begin) != 100*time.Millisecond {
			t.Errorf("waited %v, %v; want 0.1 s", time.Since(begin), err)
		}
		ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
		defer cancel()
		if _, err := h.wait(ctx, "a"); err == nil {
			t.Error("it was somebody's turn after his deadline")
		}
	})
}

func TestSharesAreBounded(t *testing.T) {
	s := newShares(Fairness{Concurrent: 1}, startFair(t, Fairness{}).server.watch, "")
	for i := range maxShares + 50 {
		_, _ = s.enter(fmt.Sprint("client ", i))
	}
	if len(s.all) > maxShares+1 {
		t.Errorf("%d shares, want at most %d", len(s.all), maxShares+1)
	}
	if got := strings.Count(scrapeOf(startFair(t, Fairness{}).registry), "evenreach_client_throttled_total{"); got != 0 {
		t.Errorf("%d series before anybody was throttled", got)
	}
}
