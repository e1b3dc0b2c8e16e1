//go:build v2 || v2java

package conformance

import (
	"bytes"
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/hl7v2"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/service"
	"evenreach.example/internal/wording"
)

// answerByV2 is what the service answers to a message.
func answerByV2(t *testing.T, message []byte) *hl7v2.Message {
	t.Helper()
	p := &service.Pipeline{Protocols: service.Protocols{protocol.Default()}, Words: wording.For("en"), Version: "test", Now: func() time.Time { return time.Date(2026, 3, 10, 0, 0, 0, 0, time.UTC) }}
	s := service.New(p, ops.NewWatch(ops.NewMetrics(prometheus.NewRegistry(), "test", p.Protocols), slog.New(slog.DiscardHandler)), auth.Anyone{}, service.Config{MaxConcurrent: 4})
	s.ServeV2(service.V2{})
	handler, err := s.Handler()
	if err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequestWithContext(context.Background(), http.MethodPost, "/v2", bytes.NewReader(message))
	r.Header.Set("Content-Type", "application/hl7-v2")
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	m, err := hl7v2.Parse(w.Body.Bytes())
	if err != nil || w.Code != http.StatusOK {
		t.Fatalf("status %d: %v: %.300s", w.Code, err, w.Body)
	}
	return m
}

// indexIn is the first limb symmetry index of an answer.
func indexIn(t *testing.T, m *hl7v2.Message) string {
	t.Helper()
	for _, s := range m.Segments {
		if s.Name == "OBX" && s.Field(3).Text(1) == "limb-symmetry-index" {
			return s.Field(5).Text(1)
		}
	}
	t.Errorf("there is no index among %d segments", len(m.Segments))
	return ""
}
