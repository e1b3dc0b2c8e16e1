package service

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/protobuf/proto"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/fhir/fhirtest"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/service/encoded"
)

func benchServer(b *testing.B) *Server {
	b.Helper()
	pipeline := testPipeline()
	pipeline.Now = func() time.Time { return today.AddDate(1, 0, 0) }
	watch := ops.NewWatch(ops.NewMetrics(prometheus.NewRegistry(), "test", pipeline.Protocols), ops.NewLogger(io.Discard, slog.LevelInfo))
	return New(pipeline, watch, auth.Anyone{}, Config{MaxConcurrent: 8})
}

// BenchmarkREST is a whole request, from the bytes of a Bundle with 60
// Observations to those of the answer.
func BenchmarkREST(b *testing.B) {
	handler, err := benchServer(b).Handler()
	if err != nil {
		b.Fatal(err)
	}
	body := string(fhirtest.Bundle60())
	b.SetBytes(int64(len(body)))
	b.ReportAllocs()
	for b.Loop() {
		r := request(body)
		r.Body = io.NopCloser(strings.NewReader(body))
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatalf("status %d: %.400s", w.Code, w.Body)
		}
	}
}

// BenchmarkGRPC is the same request as protocol buffers, from a message that has its
// resource as bytes to another.
func BenchmarkGRPC(b *testing.B) {
	server := benchServer(b)
	bundle, err := proto.Marshal(message(b, string(fhirtest.Bundle60())))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := server.Assess(b.Context(), &encoded.AssessRequest{Bundle: [][]byte{bundle}}); err != nil {
			b.Fatal(err)
		}
	}
}
