package service

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"
)

func TestPanicIsADefectAndTellsNothing(t *testing.T) {
	h := start(t)
	h.pipeline().Now = func() time.Time { panic("canary") }
	w := h.do(request(text(t, good()), "X-Request-Id", "visit-17"))
	if w.Code != http.StatusInternalServerError {
		t.Fatalf("status %d, want 500", w.Code)
	}
	issues := outcomeOf(t, w.Body.Bytes())
	if len(issues) != 1 || issues[0].kind() != "internal" || issues[0].Code != "exception" {
		t.Errorf("issues %+v, want one of kind internal", issues)
	}
	if !strings.Contains(w.Body.String(), "visit-17") {
		t.Errorf("the answer does not quote the request's id: %s", w.Body)
	}
	for _, secret := range []string{"canary", "goroutine", ".go:"} {
		if strings.Contains(w.Body.String(), secret) {
			t.Errorf("the answer holds %q: %s", secret, w.Body)
		}
	}
	log := h.log.String()
	if strings.Contains(log, "canary") {
		t.Errorf("the log quotes the panic: %s", log)
	}
	if !strings.Contains(log, `"msg":"panic"`) || !strings.Contains(log, "TestPanicIsADefect") {
		t.Errorf("the log does not say where the panic was: %s", log)
	}
	if len(h.server.capacity.room) != 0 {
		t.Error("the panic kept its place in the gate")
	}
	metrics := h.scrape()
	for _, want := range []string{
		`evenreach_refusals_total{code="internal"} 1`,
		`evenreach_http_requests_total{code="500",method="POST",operation="/fhir/$assess-shoulder"} 1`,
		`evenreach_requests_in_flight{door="http"} 0`,
	} {
		if !strings.Contains(metrics, want) {
			t.Errorf("/metrics does not say %s", want)
		}
	}
	h.pipeline().Now = testPipeline().Now
	if w := h.do(request(text(t, good()))); w.Code != http.StatusOK {
		t.Errorf("status %d for the next request, want 200", w.Code)
	}
}

func TestPanicByGRPC(t *testing.T) {
	h := start(t)
	h.pipeline().Now = func() time.Time { panic("canary") }
	_, err := h.dial().Assess(context.Background(), &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))})
	if status.Code(err) != codes.Internal || strings.Contains(err.Error(), "canary") {
		t.Errorf("error %v, want Internal without the panic's text", err)
	}
}

func TestFullServiceSheds(t *testing.T) {
	for name, full := range map[string]func(*Server) gate{
		"no room":      func(s *Server) gate { return s.capacity.room },
		"no processor": func(s *Server) gate { return s.capacity.processors },
	} {
		t.Run(name, func(t *testing.T) {
			h := start(t)
			g := full(h.server)
			for range cap(g) {
				g <- struct{}{}
			}
			checkSheds(t, h)
			for range cap(g) {
				g.leave()
			}
			if w := h.do(request(text(t, good()))); w.Code != http.StatusOK {
				t.Errorf("status %d once there is room, want 200", w.Code)
			}
			if len(h.server.capacity.room) != 0 || len(h.server.capacity.processors) != 0 {
				t.Error("a request that was told to come back kept its place")
			}
		})
	}
}

// checkSheds: both doors tell a request to come back.
func checkSheds(t *testing.T, h *harness) {
	t.Helper()
	w := h.do(request(text(t, good())))
	if w.Code != http.StatusServiceUnavailable || w.Header().Get("Retry-After") == "" {
		t.Errorf("status %d, Retry-After %q, want 503 with a time", w.Code, w.Header().Get("Retry-After"))
	}
	if issues := outcomeOf(t, w.Body.Bytes()); len(issues) != 1 || issues[0].Code != "transient" {
		t.Errorf("issues %+v, want one that is transient", issues)
	}
	_, err := h.dial().Assess(context.Background(), &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))})
	if status.Code(err) != codes.Unavailable {
		t.Errorf("error %v, want Unavailable", err)
	}
}

func TestPatience(t *testing.T) {
	now := time.Unix(1_800_000_000, 0)
	for _, tt := range []struct {
		name string
		free time.Duration // how long ago a processor was last free at once
		want time.Duration
	}{
		{"a moment ago", 10 * time.Millisecond, inBurst},
		{"as long as a burst", burst, inBurst},
		{"longer than a burst", burst + 1, underOverload},
	} {
		c := newCapacity(1, 1)
		c.free.Store(now.Add(-tt.free).UnixNano())
		if got := c.patience(c.processors, now); got != tt.want {
			t.Errorf("free %s: waits %v, want %v (definition)", tt.name, got, tt.want)
		}
	}
}

func TestRequestID(t *testing.T) {
	h := start(t)
	tests := []struct {
		name, given string
		kept        bool
	}{
		{"caller's own", "visit-17_a.B", true},
		{"none", "", false},
		{"too long", strings.Repeat("a", maxRequestID+1), false},
		{"line break", "a\nb", false},
		{"a name", "Jane Doe", false},
		{"markup", "<script>", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := request(text(t, good()))
			r.Header["X-Request-Id"] = []string{tt.given}
			got := h.do(r).Header().Get("X-Request-Id")
			if kept := got == tt.given; kept != tt.kept || !isRequestID(got) {
				t.Errorf("given %q, answered %q, want the same: %v", tt.given, got, tt.kept)
			}
		})
	}
}

func TestAnswersAreNotKeptByCaches(t *testing.T) {
	h := start(t)
	for name, r := range map[string]*http.Request{"good": request(text(t, good())), "bad": request("")} {
		if got := h.do(r).Header().Get("Cache-Control"); got != "no-store" {
			t.Errorf("%s: Cache-Control %q, want no-store", name, got)
		}
	}
}

// Long bodies are turned away while others hold the memory for them; short
// ones are answered, and nothing is held once all are answered.
func TestLongBodiesShareABudget(t *testing.T) {
	h := start(t)
	long := text(t, good()) + strings.Repeat(" ", 2*ownShare)
	if w := h.do(request(long)); w.Code != http.StatusOK {
		t.Fatalf("status %d, want 200", w.Code)
	}
	if left := h.server.bodies.left.Load(); left != maxBodies {
		t.Errorf("%d bytes left after the answer, want all %d", left, maxBodies)
	}
	if !h.server.bodies.take(maxBodies - ownShare/2) {
		t.Fatal("the budget is not there")
	}
	w := h.do(request(long))
	if w.Code != http.StatusServiceUnavailable || w.Header().Get("Retry-After") == "" {
		t.Errorf("status %d, Retry-After %q, want 503 with a time", w.Code, w.Header().Get("Retry-After"))
	}
	if w := h.do(request(text(t, good()))); w.Code != http.StatusOK {
		t.Errorf("a short body: status %d, want 200", w.Code)
	}
	bad := h.do(request(long, "Content-Encoding", "gzip"))
	if left := h.server.bodies.left.Load(); left != ownShare/2 || bad.Code != http.StatusBadRequest {
		t.Errorf("%d bytes left after refusals, status %d, want %d and 400", left, bad.Code, ownShare/2)
	}
}
