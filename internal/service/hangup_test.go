package service

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"google.golang.org/genproto/googleapis/api/httpbody"
)

// eventually waits until /metrics says something.
func (h *harness) eventually(want string) {
	h.t.Helper()
	for end := time.Now().Add(time.Minute); !strings.Contains(h.scrape(), want); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			h.t.Fatalf("/metrics does not say %s:\n%s", want, h.scrape())
		}
	}
}

const oneHungUp = `evenreach_refusals_total{code="canceled"} 1`

// A caller who hangs up is told apart from a failure of the service, which wakes
// somebody.
func TestCallersWhoHangUp(t *testing.T) {
	t.Run("in the middle of a body", func(t *testing.T) {
		h := start(t)
		conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", h.listen(func(*http.Server) {}))
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: a\r\nContent-Type: application/fhir+json\r\nContent-Length: 1000\r\n\r\n{", operationPath)
		h.eventually(`evenreach_requests_in_flight{door="http"} 1`)
		_ = conn.Close()
		h.eventually(oneHungUp)
		checkHungUp(t, h)
	})
	t.Run("while the answer is made", func(t *testing.T) {
		h := start(t)
		ctx, cancel := context.WithCancel(t.Context())
		h.pipeline().Now = func() time.Time { cancel(); return today }
		if w := h.do(request(text(t, good())).WithContext(ctx)); w.Code != statusHungUp {
			t.Errorf("status %d, want %d", w.Code, statusHungUp)
		}
		checkHungUp(t, h)
	})
	t.Run("by gRPC", func(t *testing.T) {
		h := start(t)
		ctx, cancel := context.WithCancel(t.Context())
		h.pipeline().Now = func() time.Time { cancel(); time.Sleep(100 * time.Millisecond); return today }
		if _, err := h.dial().AssessJSON(ctx, &httpbody.HttpBody{Data: []byte(text(t, good()))}); status.Code(err) != codes.Canceled {
			t.Errorf("%v, want Canceled", err)
		}
		h.eventually(oneHungUp)
		checkHungUp(t, h)
	})
}

func checkHungUp(t *testing.T, h *harness) {
	t.Helper()
	metrics := h.scrape()
	if !strings.Contains(metrics, oneHungUp) {
		t.Errorf("/metrics does not say %s", oneHungUp)
	}
	for _, never := range []string{`evenreach_refusals_total{code="timeout"} 1`, `evenreach_refusals_total{code="syntax"}`, `evenreach_input_issues_total`} {
		if strings.Contains(metrics, never) {
			t.Errorf("/metrics says %s of a caller who hung up", never)
		}
	}
	if log := h.log.String(); strings.Contains(log, `"level":"WARN"`) || strings.Contains(log, `"level":"ERROR"`) {
		t.Errorf("the log has a warning: %s", log)
	}
}

// What the service cuts off itself at the end of a drain is its own failure.
func TestCutOffByTheDrain(t *testing.T) {
	h := start(t)
	h.server.Drain()
	ctx, cancel := context.WithCancel(t.Context())
	h.pipeline().Now = func() time.Time { cancel(); return today }
	h.do(request(text(t, good())).WithContext(ctx))
	if metrics := h.scrape(); !strings.Contains(metrics, `evenreach_refusals_total{code="timeout"} 1`) {
		t.Errorf("/metrics does not tell of a request that was cut off")
	}
}

// A gzip that ends too soon in a whole body is the caller's mistake.
func TestShortGzipIsNoHangUp(t *testing.T) {
	whole := gzipped(t, text(t, good()))
	if w := start(t).do(request(whole[:len(whole)-12], "Content-Encoding", "gzip")); w.Code != http.StatusBadRequest {
		t.Errorf("status %d, want 400", w.Code)
	}
}

// Probes of what is published, and the page, are no assessments: among quick answers
// nobody would see that all assessments fail.
func TestProbesDoNotDilute(t *testing.T) {
	h := start(t)
	for _, path := range []string{"/fhir/metadata", "/fhir/ValueSet", "/fhir/CodeSystem/shoulder", "/worksheet/", "/fhir/metadata?_format=xml"} {
		h.do(method(http.MethodGet, path))
	}
	if metrics := h.scrape(); !strings.Contains(metrics, `evenreach_answer_duration_seconds_count{door="http"} 0`) {
		t.Error("a probe counts among the assessments")
	}
	h.do(request(text(t, good())))
	h.do(request("{}"))
	h.do(method(http.MethodGet, "/nowhere"))
	metrics := h.scrape()
	for _, want := range []string{
		`evenreach_answer_duration_seconds_count{door="http"} 3`,
		`evenreach_http_requests_total{code="200",method="GET",operation="/fhir/metadata"} 1`,
		`evenreach_requests_in_flight{door="http"} 0`,
	} {
		if !strings.Contains(metrics, want) {
			t.Errorf("/metrics does not say %s", want)
		}
	}
}
