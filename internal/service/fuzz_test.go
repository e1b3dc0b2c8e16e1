package service

import (
	"bytes"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/ops"
)

// fuzzed is a service that is fuzzed, without a log.
func fuzzed(f *testing.F) http.Handler {
	f.Helper()
	pipeline := testPipeline()
	watch := ops.NewWatch(ops.NewMetrics(prometheus.NewRegistry(), "test", pipeline.Protocols), ops.NewLogger(io.Discard, slog.LevelError))
	handler, err := New(pipeline, watch, auth.Anyone{}, Config{MaxConcurrent: 8}).Handler()
	if err != nil {
		f.Fatal(err)
	}
	return handler
}

// post posts FHIR to an address.
func post(t *testing.T, handler http.Handler, path string, body []byte) (int, []byte) {
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/", bytes.NewReader(body))
	r.URL.Path = path
	r.Header.Set("Content-Type", "application/fhir+json")
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	return w.Code, w.Body.Bytes()
}

// FuzzREST tries headers, queries and bodies: whatever is sent, the answer is a
// success or the caller's fault, and it is FHIR.
func FuzzREST(f *testing.F) {
	const plain, form = "", "application/fhir+json"
	f.Add(form, form, plain, plain, []byte(text(f, good())))
	f.Add("application/json; charset=utf-8; fhirVersion=4.0", "*/*;q=0.1, application/json;q=1", "gzip", "_format=json&_pretty=true", []byte(text(f, parameters(object{"name": "bundle", "resource": good()}))))
	f.Add("text/plain", "text/html", "br", "_format=xml&_pretty=2", []byte("<Bundle/>"))
	f.Add(form, "a/b;q=;,,;", "x-gzip", "%zz&;=", []byte(gzipped(f, text(f, good()))))
	handler := fuzzed(f)
	f.Fuzz(func(t *testing.T, contentType, accept, encoding, query string, body []byte) {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, operationPath, bytes.NewReader(body))
		r.URL.RawQuery = query
		for name, value := range map[string]string{"Content-Type": contentType, "Accept": accept, "Content-Encoding": encoding} {
			if value != "" {
				r.Header.Set(name, value)
			}
		}
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		if w.Code != http.StatusOK && w.Code/100 != 4 {
			t.Fatalf("status %d: %.400s", w.Code, w.Body)
		}
		if _, err := fhirjson.Decode(w.Body.Bytes(), fhir.Limits{Bytes: 64 << 20}); err != nil {
			t.Fatalf("status %d and no FHIR: %v\n%.400s", w.Code, err, w.Body)
		}
	})
}
