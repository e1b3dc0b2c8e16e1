package service

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"evenreach.example/internal/fault"
)

// An id that a caller gives is kept if it is short and has no mark that means something in a log or a header. Of the
// characters beside each range of letters and digits none is allowed.
//
// Source: ours; ASCII.
func TestIDsOfRequests(t *testing.T) {
	for id, want := range map[string]bool{
		"a": true, "z": true, "A": true, "Z": true, "0": true, "9": true, "-": true, "_": true, ".": true, "visit-17.2_b": true,
		strings.Repeat("a", 64): true, strings.Repeat("a", 65): false, "": false,
		"`": false, "{": false, "@": false, "[": false, "/": false, ":": false, " ": false, "é": false, "a\n": false, `a"b`: false,
	} {
		if got := isRequestID(id); got != want {
			t.Errorf("%q: %v, want %v", id, got, want)
		}
		if kept := requestID(id) == id; kept != want {
			t.Errorf("%q is kept: %v, want %v", id, kept, want)
		}
	}
}

// An answer is compressed from 1 KiB on, where the caller takes it.
func TestShortAnswersAreNotCompressed(t *testing.T) {
	for length, want := range map[int]string{minCompressed - 1: "", minCompressed: "gzip"} {
		w := httptest.NewRecorder()
		r := request("", "Accept-Encoding", "gzip")
		compress(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
			_, _ = w.Write(make([]byte, length))
		})).ServeHTTP(w, r)
		if got := w.Header().Get("Content-Encoding"); got != want {
			t.Errorf("%d bytes: encoding %q, want %q", length, got, want)
		}
	}
}

// A message that was refused for a fault of this service may be accepted when it is sent again, and so nobody may keep the
// refusal; one that was refused for what it says will be refused again.
func TestRefusalsThatMayPass(t *testing.T) {
	for kind, want := range map[fault.Kind]bool{
		fault.Internal: true, fault.Unavailable: true, fault.Timeout: true,
		fault.BadParameter: false, fault.NothingToAssess: false, fault.TooLong: false,
	} {
		if got := mayPass(fault.Refuse(kind, "", "")); got != want {
			t.Errorf("%v may pass: %v, want %v", kind, got, want)
		}
	}
}

// Who is told who may ask, is told it with 401 and 403 alone.
//
// Source: RFC 9110, section 11.6.1.
func TestChallengesOfOperations(t *testing.T) {
	h := guarded(t)
	if w := h.send("POST", "/fhir/Bundle/$validate", text(t, good())); w.Code != http.StatusUnauthorized || w.Header().Get("WWW-Authenticate") == "" {
		t.Errorf("a stranger: status %d, challenge %q", w.Code, w.Header().Get("WWW-Authenticate"))
	}
	w := start(t).send("POST", "/fhir/Bundle/$validate", "{")
	if _, challenged := w.Header()["Www-Authenticate"]; w.Code != http.StatusBadRequest || challenged {
		t.Errorf("no JSON: status %d, challenged: %v", w.Code, challenged)
	}
}
