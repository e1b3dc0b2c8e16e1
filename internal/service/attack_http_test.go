package service

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"

	"evenreach.example/internal/auth/authtest"
)

// listen serves REST on a port of the loopback interface, as the program does,
// and returns its address. The server's times may be changed.
func (h *harness) listen(change func(*http.Server)) string {
	h.t.Helper()
	l, err := (&net.ListenConfig{}).Listen(context.Background(), "tcp", "127.0.0.1:0")
	if err != nil {
		h.t.Fatal(err)
	}
	server := h.server.HTTPServer(NewHTTPServer(h.handler, h.server.watch.ServerLog()), nil)
	change(server)
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = server.Serve(l) // it says that it was closed
	}()
	h.t.Cleanup(func() {
		_ = server.Close()
		<-done
	})
	return l.Addr().String()
}

func asItIs(*http.Server) {}

// raw sends bytes and returns all that comes back until the connection is
// closed, or nothing has come for some time.
func raw(t *testing.T, address, sent string) string {
	t.Helper()
	conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	if err := conn.SetDeadline(time.Now().Add(10 * time.Second)); err != nil {
		t.Fatal(err)
	}
	_, _ = io.WriteString(conn, sent) // the server may hang up before the end
	got, _ := io.ReadAll(conn)        // or in the middle of ours
	return string(got)
}

// statuses are those of the answers in what came back.
func statuses(t *testing.T, got string) (codes []int) {
	t.Helper()
	for reader := bufio.NewReader(strings.NewReader(got)); ; {
		answer, err := http.ReadResponse(reader, nil)
		if err != nil {
			return codes
		}
		if _, err := io.Copy(io.Discard, answer.Body); err != nil {
			t.Fatal(err)
		}
		_ = answer.Body.Close()
		codes = append(codes, answer.StatusCode)
	}
}

func TestAttackByTwoLengths(t *testing.T) {
	address := start(t).listen(asItIs)
	body := text(t, good())
	chunked := fmt.Sprintf("%x\r\n%s\r\n0\r\n\r\n", len(body), body)
	smuggled := "POST /fhir/$assess-shoulder HTTP/1.1\r\nHost: a\r\nContent-Length: 0\r\n\r\n"
	head := func(lines ...string) string {
		return "POST /fhir/$assess-shoulder HTTP/1.1\r\nHost: a\r\nContent-Type: application/fhir+json\r\n" + strings.Join(lines, "\r\n") + "\r\n\r\n"
	}
	tests := []struct {
		name   string
		sent   string
		want   string // the statuses of all answers
		source string
	}{
		{"two requests in a row, the control", head("Content-Length: "+fmt.Sprint(len(body))) + body + head("Content-Length: 2", "Connection: close") + "{}", "[200 400]", "RFC 9112, 9.3.2"},
		{"both lengths", head("Content-Length: 4", "Transfer-Encoding: chunked") + chunked + smuggled, "[200]", "RFC 9112, 6.1: Transfer-Encoding counts, and the connection is closed"},
		{"both lengths the other way round", head("Transfer-Encoding: chunked", "Content-Length: "+fmt.Sprint(len(chunked)+len(smuggled))) + chunked + smuggled, "[200]", "RFC 9112, 6.1"},
		{"two Content-Lengths", head("Content-Length: 0", "Content-Length: "+fmt.Sprint(len(smuggled))) + smuggled, "[400]", "RFC 9112, 6.3"},
		{"a list as Content-Length", head("Content-Length: 0, 10") + smuggled, "[400]", "RFC 9112, 6.3"},
		{"a signed Content-Length", head("Content-Length: +0") + smuggled, "[400]", "RFC 9110, 8.6"},
		{"an encoding that hides", head("Transfer-Encoding: xchunked") + chunked, "[501]", "RFC 9112, 6.1"},
		{"two encodings", head("Transfer-Encoding: chunked", "Transfer-Encoding: identity") + chunked, "[501]", "RFC 9112, 6.1: not understood"},
		{"a space before the colon", head("Transfer-Encoding : chunked") + chunked, "[400]", "RFC 9112, 5.1"},
		{"a bare line feed in a header", head("X-A: b\nTransfer-Encoding: chunked") + chunked + smuggled, "[200]", "RFC 9112, 2.2: a line feed may end a line"},
		{"a zero byte in a header", head("X-A: b\x00c", "Content-Length: 0"), "[400]", "RFC 9110, 5.5"},
		{"a chunk length that overflows", head("Transfer-Encoding: chunked") + "fffffffffffffffff\r\n{}\r\n0\r\n\r\n", "[400]", "RFC 9112, 7.1"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if got := fmt.Sprint(statuses(t, raw(t, address, tt.sent))); got != tt.want {
				t.Errorf("answers %s, want %s (%s)", got, tt.want, tt.source)
			}
		})
	}
}

func TestAttackByHeaders(t *testing.T) {
	h := start(t)
	address := h.listen(asItIs)
	got := raw(t, address, "POST /fhir/$assess-shoulder HTTP/1.1\r\nHost: a\r\nX-Long: "+strings.Repeat("x", 1<<20)+"\r\n\r\n")
	if codes := statuses(t, got); len(codes) != 1 || codes[0] != http.StatusRequestHeaderFieldsTooLarge {
		t.Errorf("one header of 1 MiB: answers %v, want 431 (RFC 6585, 5)", codes)
	}
	got = raw(t, address, "POST /fhir/$assess-shoulder HTTP/1.1\r\nHost: a\r\n"+strings.Repeat("X-A: b\r\n", 1<<17)+"\r\n")
	if codes := statuses(t, got); len(codes) != 1 || codes[0] != http.StatusRequestHeaderFieldsTooLarge {
		t.Errorf("131072 headers: answers %v, want 431 (RFC 6585, 5)", codes)
	}
	ctx := metadata.AppendToOutgoingContext(context.Background(), "x-long", strings.Repeat("x", 1<<20))
	if _, err := h.dial().AssessJSON(ctx, &httpbody.HttpBody{Data: []byte(text(t, good()))}); status.Code(err) == codes.OK {
		t.Error("gRPC answered a call with metadata of 1 MiB")
	}
}

func TestAttackBySlowness(t *testing.T) {
	server := NewHTTPServer(http.NotFoundHandler(), log.New(io.Discard, "", 0))
	if server.ReadHeaderTimeout <= 0 || server.ReadTimeout <= 0 || server.WriteTimeout <= 0 || server.IdleTimeout <= 0 {
		t.Errorf("a time of the server is not bounded: %+v", server)
	}
	short := func(s *http.Server) {
		s.ReadHeaderTimeout, s.ReadTimeout, s.IdleTimeout = 100*time.Millisecond, 300*time.Millisecond, 100*time.Millisecond
	}
	address := start(t).listen(short)
	sound := "POST /fhir/$assess-shoulder HTTP/1.1\r\nHost: a\r\nContent-Type: application/fhir+json\r\nContent-Length: 1000\r\n\r\n"
	for name, sent := range map[string]string{"nothing": "", "half a header": sound[:40], "half a body": sound + "{"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			begin := time.Now()
			got := raw(t, address, sent)
			if took := time.Since(begin); took > 5*time.Second {
				t.Errorf("the connection was held for %v, want it closed after 0.3 s", took)
			}
			for _, code := range statuses(t, got) {
				if code < 400 {
					t.Errorf("a request without its end was answered with %d", code)
				}
			}
		})
	}
}

// No page of another site may read an answer.
//
// Source: Fetch standard, CORS protocol; no browser is a caller.
func TestAttackFromAnotherSite(t *testing.T) {
	h := guarded(t)
	preflight := method(http.MethodOptions, operationPath)
	preflight.Header.Set("Origin", "https://attacker.example")
	preflight.Header.Set("Access-Control-Request-Method", "POST")
	preflight.Header.Set("Access-Control-Request-Headers", "authorization,content-type")
	published := method(http.MethodGet, "/fhir/metadata")
	published.Header.Set("Origin", "https://attacker.example")
	search := method(http.MethodGet, "/fhir/ValueSet")
	search.Header.Set("Origin", "https://attacker.example")
	simple := request(text(t, good()), "Origin", "https://attacker.example", "Authorization", "Bearer "+authtest.New(issuerName).Sign(t))
	for name, r := range map[string]*http.Request{"preflight": preflight, "request": simple, "published": published, "search": search} {
		w := h.do(r)
		for header := range w.Header() {
			if strings.HasPrefix(header, "Access-Control-") {
				t.Errorf("%s: the answer has %s: %s", name, header, w.Header().Get(header))
			}
		}
		if name == "preflight" && w.Code < 400 {
			t.Errorf("the preflight was answered with %d, want a refusal", w.Code)
		}
	}
	form := request("resourceType=Bundle", "Origin", "https://attacker.example", "Content-Type", "text/plain", "Authorization", "Bearer "+authtest.New(issuerName).Sign(t))
	if w := h.do(form); w.Code != http.StatusUnsupportedMediaType {
		t.Errorf("a form, which needs no preflight, was answered with %d, want 415", w.Code)
	}
}
