//go:build resilience

package resilience

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"sync"
	"testing"
	"time"

	"evenreach.example/internal/fhir/fhirtest"
)

// dialed is a connection that ends with the test, or after two minutes.
func dialed(t *testing.T, address string) *net.TCPConn {
	t.Helper()
	conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	if err := conn.SetDeadline(time.Now().Add(2 * time.Minute)); err != nil {
		t.Fatal(err)
	}
	return conn.(*net.TCPConn)
}

// ended reads until the other side ends the connection, and fails if it does
// not.
func ended(t *testing.T, conn net.Conn) {
	t.Helper()
	if _, err := io.Copy(io.Discard, conn); errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("the connection was not ended: %v", err)
	}
}

// answersAll wants a replica to answer by each door.
func answersAll(t *testing.T, r *replica) {
	t.Helper()
	s := scenarios(t)[0]
	t.Run("every door answers", func(t *testing.T) { // and its connections end with it
		for _, ask := range []caller{restCaller(t, r.HTTP), grpcCaller(t, r.GRPC)} {
			if answer, err := ask(t.Context(), s.input); err != nil || !bytes.Equal(answer, s.answer) {
				t.Errorf("error %v, %d bytes, want the answer", err, len(answer))
			}
		}
	})
}

// post is the head of a request.
func post(length int) string {
	return fmt.Sprintf("POST %s HTTP/1.1\r\nHost: a\r\nContent-Type: application/fhir+json\r\nContent-Length: %d\r\n\r\n", operation, length)
}

// Connections that say nothing, or begin and say no more, are ended, cost
// nobody else an answer, and leave nothing behind.
func TestHalfOpenConnections(t *testing.T) {
	t.Parallel()
	const each = 100 // half a body holds one of the 128 places for requests
	r := run(t)
	answersAll(t, r)
	before := r.metric("process_open_fds ")
	preface := "PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n"
	tests := []struct{ address, says string }{
		{r.HTTP, ""},
		{r.HTTP, post(1000)[:40]},
		{r.HTTP, post(1000)},
		{r.GRPC, ""},
		{r.GRPC, preface[:10]},
		{r.Admin, ""},
	}
	var group sync.WaitGroup
	for _, tt := range tests {
		for range each {
			conn := dialed(t, tt.address)
			if _, err := io.WriteString(conn, tt.says); err != nil {
				t.Fatal(err)
			}
			group.Go(func() { ended(t, conn) })
		}
		answersAll(t, r)
	}
	most := r.metric("process_open_fds ")
	group.Wait()
	answersAll(t, r)
	// Two for the callers of answersAll, whose end may not have been seen yet.
	eventually(t, "the descriptors are free again", func() bool { return r.metric("process_open_fds ") <= before+2 })
	r.lives()
	t.Logf("%d connections; open descriptors %.0f before, %.0f during, %.0f after", each*len(tests), before, most, r.metric("process_open_fds "))
}

// Callers who ask and do not read hold their requests no longer than the time
// to write allows.
func TestSlowReaders(t *testing.T) {
	t.Parallel()
	const readers, requests = 10, 100 // of 170 kB each, more than the kernel holds for a connection
	r := run(t)
	s := scenarios(t)[0]
	var conns []net.Conn
	for range readers {
		conn := dialed(t, r.HTTP)
		if err := conn.SetReadBuffer(4 << 10); err != nil {
			t.Fatal(err)
		}
		conns = append(conns, conn)
		go func() {
			_, _ = io.WriteString(conn, post(len(s.input))+string(s.input)) // one comes in before the connection ends
			for range requests {
				if _, err := io.WriteString(conn, post(len(s.input))+string(s.input)); err != nil {
					return
				}
			}
		}()
	}
	stuck := func() float64 { return r.metric(`evenreach_requests_in_flight{door="http"}`) }
	eventually(t, "every answer is stuck", func() bool { return stuck() == readers })
	answersAll(t, r)
	eventually(t, "no answer is stuck any more", func() bool { return stuck() == 0 })
	for _, conn := range conns {
		whole := 0
		for reader := bufio.NewReader(conn); ; whole++ {
			answer, err := http.ReadResponse(reader, nil)
			if err != nil {
				break
			}
			_, err = io.Copy(io.Discard, answer.Body)
			_ = answer.Body.Close()
			if err != nil {
				break // half an answer, which its length shows
			}
		}
		if whole >= requests {
			t.Errorf("all %d answers were there: nothing was tried", whole)
		}
	}
	answersAll(t, r)
	r.lives()
	r.noDefects()
}

// Long bodies at a time, sent or held back, take no more memory than a Pod has,
// and short ones are answered meanwhile.
func TestLongBodies(t *testing.T) {
	t.Parallel()
	r := newReplica(t)
	r.env = []string{"GOMEMLIMIT=128MiB"} // as in the base
	r.start()
	r.ready()
	body := fhirtest.Bundle(5000) // of 8 MiB, the longest that is read
	var turnedAway, answered int
	var mu sync.Mutex
	together := func(n int, held bool) {
		var group sync.WaitGroup
		for range n {
			conn := dialed(t, r.HTTP)
			group.Go(func() {
				_, _ = io.WriteString(conn, post(len(body))) // what it answers says more
				_, _ = conn.Write(body[:len(body)-1])
				if !held {
					_, _ = conn.Write(body[len(body)-1:])
				}
				answer, err := http.ReadResponse(bufio.NewReader(conn), nil)
				if err != nil {
					return // turned away while it wrote
				}
				_, _ = io.Copy(io.Discard, answer.Body)
				_ = answer.Body.Close()
				mu.Lock()
				defer mu.Unlock()
				switch answer.StatusCode {
				case http.StatusOK:
					answered++
				case http.StatusServiceUnavailable:
					turnedAway++
				}
			})
		}
		s := scenarios(t)[0] // the processors are taken for a while: it may have to ask again
		if answer, _, err := insistent(t.Context(), restCaller(t, r.HTTP), s.input); err != nil || !bytes.Equal(answer, s.answer) {
			t.Errorf("a short body beside long ones: error %v, %d bytes, want the answer", err, len(answer))
		}
		group.Wait()
	}
	together(40, false)
	sent := r.memory("VmHWM")
	together(40, true)
	heldBack := r.memory("VmHWM")
	answersAll(t, r)
	r.lives()
	r.noDefects()
	if answered == 0 || heldBack > podLimit {
		t.Errorf("%d answered, peak of memory %.0f MiB, want some and at most %d MiB", answered, heldBack, podLimit)
	}
	t.Logf("40 of %d MiB sent: %d answered, %d turned away, peak of memory %.0f MiB; with 40 held back %.0f MiB", len(body)>>20, answered, turnedAway, sent, heldBack)
}
