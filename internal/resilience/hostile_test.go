//go:build resilience

package resilience

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"slices"
	"sync"
	"time"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/fhir/fhirtest"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
)

// hostile is a caller who means harm, or is broken. It reports an answer that a
// service must not give to it.
type hostile struct {
	name string
	act  func(ctx context.Context, r *replica, s scenario, random *rand.Rand) error
}

var hostiles = []hostile{
	{"a request with faults", mutant},
	{"a compression bomb", wants(func(scenario) []byte { return bomb() }, http.StatusRequestEntityTooLarge, "Content-Encoding", "gzip")},
	{"another format", wants(func(s scenario) []byte { return s.input }, http.StatusUnsupportedMediaType, "Content-Type", "application/fhir+xml")},
	{"another type", wants(func(scenario) []byte { return []byte(`{"resourceType":"Patient"}`) }, http.StatusBadRequest)},
	{"no JSON", wants(func(scenario) []byte { return []byte("\x00\xff") }, http.StatusBadRequest)},
	{"half a body", halfBody},
	{"an upload broken off", brokenUpload},
	{"a slow writer", slowWriter},
	{"a slow reader", slowReader},
	{"no HTTP", noHTTP},
	{"a stream broken off", brokenStream},
}

// send gives the status of the answer, 0 for none: the service does not read to
// its end what it refuses, and the answer is lost to a caller who still writes.
func send(ctx context.Context, r *replica, body []byte, headers ...string) (int, error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+r.HTTP+operation, bytes.NewReader(body))
	if err != nil {
		return 0, err
	}
	request.Header.Set("Content-Type", "application/fhir+json")
	for pair := range slices.Chunk(headers, 2) {
		request.Header.Set(pair[0], pair[1])
	}
	answer, err := unpooled.Do(request)
	if err != nil {
		return 0, nil
	}
	defer answer.Body.Close()
	_, _ = io.Copy(io.Discard, answer.Body)
	return answer.StatusCode, nil
}

func mutant(ctx context.Context, r *replica, s scenario, random *rand.Rand) error {
	body, err := fhirtest.Mutant(s.input, random)
	if err != nil {
		return err
	}
	status, err := send(ctx, r, body)
	if err == nil && status >= 500 && status != http.StatusServiceUnavailable {
		return fmt.Errorf("status %d to %.2000s", status, body)
	}
	return err
}

// wants sends a body and wants it refused, or to be told to come back.
func wants(body func(scenario) []byte, want int, headers ...string) func(context.Context, *replica, scenario, *rand.Rand) error {
	return func(ctx context.Context, r *replica, s scenario, _ *rand.Rand) error {
		status, err := send(ctx, r, body(s), headers...)
		if err == nil && status != 0 && status != want && status != http.StatusServiceUnavailable {
			return fmt.Errorf("status %d, want %d", status, want)
		}
		return err
	}
}

// bomb is 64 MiB of spaces, compressed.
var bomb = sync.OnceValue(func() []byte {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	for range 64 {
		_, _ = z.Write(bytes.Repeat([]byte(" "), 1<<20)) // into memory
	}
	_ = z.Close()
	return b.Bytes()
})

// connected gives a connection to act on. Whatever the service does with it, it
// is the caller's own fault.
func connected(ctx context.Context, address string, act func(conn *net.TCPConn)) error {
	conn, err := (&net.Dialer{}).DialContext(ctx, "tcp", address)
	if err != nil {
		return err
	}
	defer conn.Close()
	act(conn.(*net.TCPConn))
	return nil
}

func halfBody(ctx context.Context, r *replica, s scenario, _ *rand.Rand) error {
	return connected(ctx, r.HTTP, func(conn *net.TCPConn) {
		_, _ = io.WriteString(conn, post(len(s.input)))
		_, _ = conn.Write(s.input[:len(s.input)/2])
		_ = conn.CloseWrite()
		_, _ = io.Copy(io.Discard, conn)
	})
}

func brokenUpload(ctx context.Context, r *replica, s scenario, _ *rand.Rand) error {
	return connected(ctx, r.HTTP, func(conn *net.TCPConn) {
		_, _ = fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\n%x\r\n", operation, len(s.input))
		_, _ = conn.Write(s.input[:len(s.input)/3])
		_ = conn.SetLinger(0) // it is reset, not closed
	})
}

// pause is the time between two pieces of a slow caller, who has twenty.
const pause = 100 * time.Millisecond

func slowWriter(ctx context.Context, r *replica, s scenario, _ *rand.Rand) error {
	return connected(ctx, r.HTTP, func(conn *net.TCPConn) {
		_, _ = io.WriteString(conn, post(len(s.input)))
		for piece := range slices.Chunk(s.input, len(s.input)/20+1) {
			_, _ = conn.Write(piece)
			time.Sleep(pause)
		}
	})
}

func slowReader(ctx context.Context, r *replica, s scenario, _ *rand.Rand) error {
	return connected(ctx, r.HTTP, func(conn *net.TCPConn) {
		_ = conn.SetReadBuffer(4 << 10)
		_, _ = io.WriteString(conn, post(len(s.input)))
		_, _ = conn.Write(s.input)
		for range 20 {
			_, _ = io.CopyN(io.Discard, conn, 1<<10)
			time.Sleep(pause)
		}
	})
}

func noHTTP(ctx context.Context, r *replica, _ scenario, random *rand.Rand) error {
	garbage := make([]byte, 1<<10)
	for i := range garbage {
		garbage[i] = byte(random.IntN(256))
	}
	for _, address := range []string{r.HTTP, r.GRPC} {
		if err := connected(ctx, address, func(conn *net.TCPConn) { _, _ = conn.Write(garbage) }); err != nil {
			return err
		}
	}
	return nil
}

func brokenStream(ctx context.Context, r *replica, _ scenario, _ *rand.Rand) error {
	connection, err := grpc.NewClient(r.GRPC, grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		return err
	}
	defer connection.Close()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	stream, err := evenreachv1.NewAssessmentServiceClient(connection).AssessStream(ctx)
	if err != nil {
		return nil // it was turned away
	}
	_ = stream.Send(&evenreachv1.AssessStreamRequest{})
	_, _ = stream.Recv()
	_ = stream.Send(&evenreachv1.AssessStreamRequest{})
	return nil
}
