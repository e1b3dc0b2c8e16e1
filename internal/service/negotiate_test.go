package service

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"net/http"
	"reflect"
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
		{"application/json;q=much, text/json", "", "text/json", "RFC 9110, 12.4.2: a weight is a number; what is malformed is passed over"},
		{"application/fhir+xml", "", "", "no XML"},
		{"text/html", "", "", "no HTML"},
		{"application/fhir+json; fhirVersion=5.0", "", "", "no R5"},
		{"application/fhir+json; charset=latin1", "", "", "UTF-8 only"},
		{"application/fhir+xml", "_format=json", fhirJSON, "FHIR R4: _format overrides Accept"},
		{"application/fhir+xml", "_format=JSON", fhirJSON, "common servers take either case"},
		{"application/fhir+json; charset=utf8", "", fhirJSON, "common servers take the charset without its hyphen"},
		{"", "_format=text/json", "text/json", "FHIR R4, _format"},
		{"", "_format=html", "", "no HTML"},
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
		if got := acceptable(r, r.URL.Query()); got != tt.want {
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
		"application/fhir+json; charset=utf8":    true,
		`application/fhir+json; charset="UTF-8"`: true,
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

// What common clients send beside what is needed changes no answer.
func TestWhatClientsSendBeside(t *testing.T) {
	h := start(t)
	body := text(t, good())
	plain := h.do(request(body)).Body.String()
	for name, r := range map[string]*http.Request{
		"_summary":              withQuery(request(body), "_summary=true"),
		"_elements":             withQuery(request(body), "_elements=id"),
		"a byte order mark":     request("\ufeff" + body),
		"the charset unhyphed":  request(body, "Content-Type", "application/fhir+json;charset=utf8"),
		"the charset in quotes": request(body, "Content-Type", `application/fhir+json; charset="UTF-8"`),
	} {
		if w := h.do(r); w.Code != http.StatusOK || w.Body.String() != plain {
			t.Errorf("%s: status %d and %.200s, want the plain answer", name, w.Code, w.Body)
		}
	}
}

// The parameters of the operation mean the same in the address and in Parameters.
func TestParametersInTheAddress(t *testing.T) {
	for name, tt := range map[string]struct {
		query      string
		parameters []object
	}{
		"output":         {"output=check", []object{parameter("output", "valueCode", "check")}},
		"involved side":  {"involvedSide=left", []object{parameter("involvedSide", "valueCode", "left")}},
		"the time":       {"asOf=2026-03-05", []object{parameter("asOf", "valueDate", "2026-03-05")}},
		"documents":      {"documents=true", []object{parameter("documents", "valueBoolean", true)}},
		"no documents":   {"documents=false", []object{parameter("documents", "valueBoolean", false)}},
		"protocol":       {"protocol=evenreach-default%7C1", []object{parameter("protocol", "valueString", "evenreach-default|1")}},
		"with a _format": {"_format=json&output=collection", []object{parameter("output", "valueCode", "collection")}},
	} {
		t.Run(name, func(t *testing.T) {
			_, inAddress, err := negotiateOperation(withQuery(request(""), tt.query))
			if err != nil {
				t.Fatal(err)
			}
			bare, err := Decode([]byte(text(t, good())))
			if err != nil {
				t.Fatal(err)
			}
			want, err := Decode([]byte(text(t, parameters(append(tt.parameters, object{"name": "bundle", "resource": good()})...))))
			if err != nil {
				t.Fatal(err)
			}
			want.Root, want.Size = "Bundle", bare.Size
			if got := addAddress(withAddress(t.Context(), inAddress), bare); !reflect.DeepEqual(got, want) {
				t.Errorf("read as %+v, want %+v", got, want)
			}
		})
	}
	w := start(t).do(withQuery(request(text(t, good())), "output=check&involvedSide=left"))
	if w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), `{"resourceType":"OperationOutcome"`) {
		t.Errorf("status %d: %.200s, want what was understood", w.Code, w.Body)
	}
}

// The operation says which methods it has, to those who may ask.
//
// Source: RFC 9110, 9.3.7; HEAD is to be refused where GET is.
func TestOptionsAndHead(t *testing.T) {
	h := start(t)
	tests := []struct {
		method, path string
		status       int
		allow        string
	}{
		{"OPTIONS", operationPath, 204, "POST, OPTIONS"},
		{"HEAD", operationPath, 405, "POST, OPTIONS"},
		{"OPTIONS", "/fhir/metadata", 204, "GET, HEAD, OPTIONS"},
		{"DELETE", "/fhir/metadata", 405, "GET, HEAD, OPTIONS"},
		{"OPTIONS", "/fhir/ValueSet", 204, "GET, HEAD, OPTIONS"},
		{"POST", "/fhir/ValueSet", 405, "GET, HEAD, OPTIONS"},
		{"OPTIONS", "/fhir/ValueSet/_search", 204, "POST, OPTIONS"},
		{"PUT", "/fhir/ValueSet/side", 405, "GET, HEAD, OPTIONS"},
		{"OPTIONS", "/fhir/Patient", 404, ""},
	}
	for _, tt := range tests {
		w := h.do(method(tt.method, tt.path))
		if w.Code != tt.status || w.Header().Get("Allow") != tt.allow {
			t.Errorf("%s %s: status %d, Allow %q, want %d and %q", tt.method, tt.path, w.Code, w.Header().Get("Allow"), tt.status, tt.allow)
		}
	}
	if w := guarded(t).do(method("OPTIONS", operationPath)); w.Code != http.StatusUnauthorized {
		t.Errorf("a stranger's OPTIONS: status %d, want 401", w.Code)
	}
}
