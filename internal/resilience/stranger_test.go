//go:build resilience

package resilience

import (
	"context"
	"encoding/binary"
	"io"
	"net/http"
	"testing"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/protobuf/proto"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/fhir/fhirtest"
)

// Messages of callers without a token are refused before they are read, so that
// they take no memory.
func TestLongMessagesOfStrangers(t *testing.T) {
	t.Parallel()
	const calls = 120 // on one connection, which takes 128
	r := guarded(t, startIssuer(t))
	message, err := proto.Marshal(&httpbody.HttpBody{Data: fhirtest.Bundle(5000)})
	if err != nil {
		t.Fatal(err)
	}
	// A message is prefixed with its length; the last byte is held back.
	frame := append(binary.BigEndian.AppendUint32([]byte{0}, uint32(len(message))), message[:len(message)-1]...)
	var http2 http.Protocols
	http2.SetUnencryptedHTTP2(true)
	client := &http.Client{Transport: &http.Transport{Protocols: &http2}}
	t.Cleanup(client.CloseIdleConnections)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	for range calls {
		reader, writer := io.Pipe()
		request, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+r.GRPC+evenreachv1.AssessmentService_AssessJSON_FullMethodName, reader)
		if err != nil {
			t.Fatal(err)
		}
		request.Header.Set("Content-Type", "application/grpc")
		request.Header.Set("TE", "trailers")
		go func() { _, _ = writer.Write(frame) }() // until it is refused
		go func() {
			if answer, err := client.Do(request); err == nil {
				_ = answer.Body.Close()
			}
		}()
	}
	eventually(t, "every call is refused", func() bool { return r.metric(`evenreach_token_refusals_total{reason="no-token"}`) == calls })
	peak := r.memory("VmHWM")
	if peak > podLimit {
		t.Errorf("the peak of memory was %.0f MiB, want at most %d", peak, podLimit)
	}
	r.lives()
	t.Logf("%d calls of %d MiB refused, peak of memory %.0f MiB", calls, len(message)>>20, peak)
}
