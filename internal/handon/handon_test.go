package handon

import (
	"context"
	"errors"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenreach.example/internal/fhirclient"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/mllp"
)

func answer() Answer {
	return Answer{
		Transaction: func() []byte { return []byte(`{"resourceType":"Bundle","type":"transaction"}`) },
		Results:     func() []byte { return []byte(`MSH|^~\&|A|B|C|D|20260302100000+0100||ORU^R01^ORU_R01|M1|P|2.7` + "\r") },
	}
}

func TestRecordTakesTheTransaction(t *testing.T) {
	token := filepath.Join(t.TempDir(), "token")
	if err := os.WriteFile(token, []byte("secret\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	var got *http.Request
	server := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { got = r }))
	defer server.Close()
	if err := NewRecord(fhirclient.New(server.URL, fhirclient.TokenFile(token), nil)).HandOn(t.Context(), answer()); err != nil {
		t.Fatal(err)
	}
	if got.Method != http.MethodPost || got.Header.Get("Authorization") != "Bearer secret" || !strings.HasPrefix(got.Header.Get("Content-Type"), "application/fhir+json") {
		t.Errorf("the record was sent %s with %v", got.Method, got.Header)
	}
}

// Source: the classes of RFC 9110: what was wrong with the request stays wrong; the rest may pass.
func TestWhichRefusalsOfARecordAreFinal(t *testing.T) {
	for status, final := range map[int]bool{400: true, 404: true, 412: true, 413: true, 422: true, 401: false, 403: false, 409: false, 500: false, 502: false} {
		server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(status) }))
		err := NewRecord(fhirclient.New(server.URL, nil, nil)).HandOn(t.Context(), answer())
		if err == nil || errors.Is(err, ErrRefused) != final {
			t.Errorf("%d is %v, final %v", status, err, final)
		}
		server.Close()
	}
}

// receiver answers each message over MLLP.
func receiver(t *testing.T, reply func(message []byte) []byte) *Receiver {
	t.Helper()
	listener, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := &mllp.Server{Handle: func(_ context.Context, m []byte) []byte { return reply(m) }, Opened: func(int) {}, Limits: mllp.Limits{Bytes: 1 << 20}}
	done := make(chan error)
	go func() { done <- server.Serve(listener) }()
	t.Cleanup(func() {
		if err := server.Shutdown(context.Background()); err != nil {
			t.Error(err)
		}
		if err := <-done; err != nil {
			t.Log(err) // a server that is shut down says so
		}
	})
	return NewReceiver(listener.Addr().String(), new(net.Dialer))
}

// Source: HL7 version 2.9, table 0008.
func TestWhatAcknowledgementsMean(t *testing.T) {
	for reply, want := range map[string]struct{ taken, final bool }{
		"MSA|AA|M1": {true, false}, "MSA|CA|M1": {true, false},
		"MSA|AE|M1": {false, true}, "MSA|CE|M1": {false, true},
		"MSA|AR|M1": {false, false}, "MSA|CR|M1": {false, false},
		"MSA|AA|M2": {false, false}, "PID|1": {false, false}, "": {false, false},
	} {
		r := receiver(t, func([]byte) []byte {
			return []byte(`MSH|^~\&|C|D|A|B|20260302100000+0100||ACK|R1|P|2.7` + "\r" + reply + "\r")
		})
		err := r.HandOn(t.Context(), answer())
		if (err == nil) != want.taken || errors.Is(err, ErrRefused) != want.final {
			t.Errorf("%q is %v, want taken %v, final %v", reply, err, want.taken, want.final)
		}
	}
}

func TestReceiverIsSentTheResults(t *testing.T) {
	var got *hl7v2.Message
	r := receiver(t, func(m []byte) []byte {
		got, _ = hl7v2.Parse(append([]byte(nil), m...))
		return []byte(`MSH|^~\&|C|D|A|B|20260302100000+0100||ACK|R1|P|2.7` + "\rMSA|AA|M1\r")
	})
	if err := r.HandOn(t.Context(), answer()); err != nil {
		t.Fatal(err)
	}
	if got == nil || got.Header().Field(10).Text(1) != "M1" {
		t.Error("the receiver got another message")
	}
}

func TestNobodyListens(t *testing.T) {
	if err := NewReceiver("127.0.0.1:1", new(net.Dialer)).HandOn(t.Context(), answer()); err == nil || errors.Is(err, ErrRefused) {
		t.Errorf("the error is %v, want one that may pass", err)
	}
}
