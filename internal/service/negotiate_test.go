package service

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"
)

func TestAcceptable(t *testing.T) {
	tests := []struct {
		accept, query string
		want          string // empty for 406
		source        string
	}{
		{"", "", fhirJSON, "RFC 9110, 12.5.1: no Accept means anything"},
		{"*/*", "", fhirJSON, "the usual one first"},
		{"application/*", "", fhirJSON, "the usual one first"},
		{"application/fhir+json", "", fhirJSON, "asked for"},
		{"application/fhir+json; charset=utf-8; fhirVersion=4.0", "", fhirJSON, "FHIR R4, content types"},
		{"application/json", "", "application/json", "FHIR R4: the generic type is answered with itself"},
		{"text/json", "", "text/json", "FHIR R4: the generic type is answered with itself"},
		{"application/fhir+xml, application/json;q=0.5", "", "application/json", "RFC 9110, 12.4.2"},
		{"application/json;q=0.9, application/fhir+json;q=0.8", "", "application/json", "RFC 9110, 12.4.2"},
		{"application/fhir+json;q=0, */*;q=0.1", "", "application/json", "RFC 9110, 12.5.1: the most specific range decides"},
		{"nonsense/;;, application/json", "", "application/json", "what is malformed is passed over"},
		{"application/fhir+xml", "", "", "no XML"},
		{"text/html", "", "", "no HTML"},
		{"application/fhir+json; fhirVersion=5.0", "", "", "no R5"},
		{"application/fhir+json; charset=latin1", "", "", "UTF-8 only"},
		{"application/fhir+xml", "_format=json", fhirJSON, "FHIR R4: _format overrides Accept"},
		{"", "_format=application/fhir%2Bjson", fhirJSON, "FHIR R4, _format"},
		{"", "_format=application/fhir+json", fhirJSON, "a plus that was not escaped"},
		{"", "_format=application/json", "application/json", "FHIR R4, _format"},
		{"application/json", "_format=xml", "", "FHIR R4: _format overrides Accept"},
	}
	for _, tt := range tests {
		r := withQuery(request(""), tt.query)
		if tt.accept != "" {
			r.Header.Set("Accept", tt.accept)
		}
		if got := acceptable(r); got != tt.want {
			t.Errorf("Accept %q, query %q: %q, want %q (%s)", tt.accept, tt.query, got, tt.want, tt.source)
		}
	}
}

func TestReadsMediaType(t *testing.T) {
	for value, want := range map[string]bool{
		"":                                       true,
		"application/fhir+json":                  true,
		"application/FHIR+JSON; charset=UTF-8":   true,
		"application/json":                       true,
		"text/json":                              true,
		"application/fhir+json;fhirVersion=4.0":  true,
		"application/fhir+json;fhirVersion=3.0":  false,
		"application/fhir+json;charset=us-ascii": false,
		"application/fhir+xml":                   false,
		"application/octet-stream":               false,
		"nonsense":                               false,
		"/":                                      false,
	} {
		if got := readsMediaType(value); got != want {
			t.Errorf("readsMediaType(%q) = %v, want %v", value, got, want)
		}
	}
}

func TestAnswerTakesTheFormAskedFor(t *testing.T) {
	h := start(t)
	body := text(t, good())
	plain := h.do(request(body))
	if plain.Code != http.StatusOK || plain.Header().Get("Content-Type") != "application/fhir+json; charset=utf-8" {
		t.Fatalf("status %d, Content-Type %q", plain.Code, plain.Header().Get("Content-Type"))
	}

	generic := h.do(request(body, "Accept", "application/json"))
	if got := generic.Header().Get("Content-Type"); got != "application/json; charset=utf-8" {
		t.Errorf("Content-Type %q, want the one asked for", got)
	}

	pretty := h.do(withQuery(request(body), "_pretty=true"))
	var compact bytes.Buffer
	if err := json.Compact(&compact, pretty.Body.Bytes()); err != nil {
		t.Fatal(err)
	}
	if lines := bytes.Count(pretty.Body.Bytes(), []byte("\n")); lines < 100 || compact.String() != plain.Body.String() {
		t.Errorf("_pretty gives %d lines, and the same JSON: %v", lines, compact.String() == plain.Body.String())
	}

	escaped := request(body)
	escaped.URL.RawPath, escaped.URL.Path = "/fhir/%24assess-shoulder", operationPath
	if w := h.do(escaped); w.Code != http.StatusOK {
		t.Errorf("%%24 for $: status %d, want 200", w.Code)
	}
}

func TestGzipBothWays(t *testing.T) {
	h := start(t)
	body := text(t, good())
	plain := h.do(request(body))
	w := h.do(request(gzipped(t, body), "Content-Encoding", "gzip", "Accept-Encoding", "gzip;q=0.5, br"))
	if w.Code != http.StatusOK || w.Header().Get("Content-Encoding") != "gzip" {
		t.Fatalf("status %d, Content-Encoding %q, want 200 and gzip", w.Code, w.Header().Get("Content-Encoding"))
	}
	if !strings.Contains(w.Header().Get("Vary"), "Accept-Encoding") {
		t.Errorf("Vary %q, want Accept-Encoding in it", w.Header().Get("Vary"))
	}
	z, err := gzip.NewReader(w.Body)
	if err != nil {
		t.Fatal(err)
	}
	inflated, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	if string(inflated) != plain.Body.String() {
		t.Error("the inflated answer differs from the plain one")
	}
	for _, accept := range []string{"", "gzip;q=0", "br", "identity"} {
		if w := h.do(request(body, "Accept-Encoding", accept)); w.Header().Get("Content-Encoding") != "" {
			t.Errorf("Accept-Encoding %q is answered in %s", accept, w.Header().Get("Content-Encoding"))
		}
	}
}

func TestShortAnswerStaysPlain(t *testing.T) {
	w := start(t).do(func() *http.Request {
		r := method(http.MethodGet, "/")
		r.Header.Set("Accept-Encoding", "gzip")
		return r
	}())
	if w.Code != http.StatusNotFound || w.Header().Get("Content-Encoding") != "" {
		t.Errorf("status %d, Content-Encoding %q, want 404 and none", w.Code, w.Header().Get("Content-Encoding"))
	}
}
