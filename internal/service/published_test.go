package service

import (
	"encoding/json"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/ops"
)

func TestPublished(t *testing.T) {
	h := start(t)
	tests := []struct {
		name, method, path, accept string
		status                     int
		resourceType               string
	}{
		{"the capabilities", "GET", "/fhir/metadata", "", 200, "CapabilityStatement"},
		{"an artefact", "GET", "/fhir/CodeSystem/shoulder", "", 200, "CodeSystem"},
		{"head", "HEAD", "/fhir/metadata", "", 200, ""},
		{"an artefact that is not there", "GET", "/fhir/CodeSystem/nothing", "", 404, "OperationOutcome"},
		{"another format", "GET", "/fhir/metadata", "application/fhir+xml", 406, "OperationOutcome"},
		{"a patient", "GET", "/fhir/Patient/p1", "", 404, "OperationOutcome"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := httptest.NewRequestWithContext(t.Context(), tt.method, tt.path, nil)
			if tt.accept != "" {
				r.Header.Set("Accept", tt.accept)
			}
			w := h.do(r)
			if w.Code != tt.status {
				t.Fatalf("HTTP %d, want %d: %.300s", w.Code, tt.status, w.Body)
			}
			var got struct{ ResourceType string }
			if tt.resourceType == "" {
				return
			}
			if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil || got.ResourceType != tt.resourceType {
				t.Errorf("%q, want %s: %v", got.ResourceType, tt.resourceType, err)
			}
		})
	}
}

func TestPublishedIsSentOnce(t *testing.T) {
	h := start(t)
	tag := h.do(httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/fhir/metadata", nil)).Header().Get("ETag")
	if tag == "" {
		t.Fatal("no ETag")
	}
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/fhir/metadata", nil)
	r.Header.Set("If-None-Match", `W/"other", `+tag)
	if w := h.do(r); w.Code != http.StatusNotModified || w.Body.Len() != 0 {
		t.Errorf("HTTP %d with %d bytes, want 304 with none", w.Code, w.Body.Len())
	}
}

// tokens stands for an Authenticator that asks for tokens.
type tokens struct{ Authenticator }

func TestCapabilitiesAreOpen(t *testing.T) {
	h := startFor(t, func(*ops.AuthMetrics, *slog.Logger) Authenticator { return tokens{auth.Anyone{}} })
	w := h.do(httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/fhir/metadata", nil))
	if w.Code != 200 || !strings.Contains(w.Body.String(), "SMART-on-FHIR") {
		t.Errorf("HTTP %d: %.300s; want 200 and how callers prove who they are", w.Code, w.Body)
	}
}
