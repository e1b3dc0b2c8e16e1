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
		{"the terminology's capabilities", "GET", "/fhir/metadata?mode=terminology", "", 200, "CapabilityStatement"},
		{"a summary", "GET", "/fhir/metadata?_summary=true&_pretty=true", "", 200, "CapabilityStatement"},
		{"another mode elsewhere", "GET", "/fhir/CodeSystem/shoulder?mode=full", "", 400, "OperationOutcome"},
		{"XML asked for", "GET", "/fhir/metadata?_format=xml", "", 406, "OperationOutcome"},
		{"a type without resources", "GET", "/fhir/SearchParameter", "", 404, "OperationOutcome"},
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
	if w.Code != 200 || !strings.Contains(w.Body.String(), `"OAuth"`) {
		t.Errorf("HTTP %d: %.300s; want 200 and how callers prove who they are", w.Code, w.Body)
	}
}

// Source: SMART App Launch 2, conformance: what claims SMART has a configuration, whose token
// endpoint, grant types, capabilities and challenge methods are required.
func TestSMARTIsClaimedWithItsConfiguration(t *testing.T) {
	const endpoint = "https://id.hospital.example/token"
	asking := func(*ops.AuthMetrics, *slog.Logger) Authenticator { return tokens{auth.Anyone{}} }
	get := func(h *harness, path string) *httptest.ResponseRecorder {
		return h.do(httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil))
	}
	without, with := startWith(t, Config{MaxConcurrent: 8}, asking), startWith(t, Config{MaxConcurrent: 8, TokenEndpoint: endpoint}, asking)
	if strings.Contains(get(without, "/fhir/metadata").Body.String(), "SMART-on-FHIR") {
		t.Error("SMART is claimed though nobody could find the token endpoint")
	}
	if w := get(without, "/fhir/.well-known/smart-configuration"); w.Code != http.StatusNotFound {
		t.Errorf("HTTP %d without a token endpoint, want 404", w.Code)
	}
	if !strings.Contains(get(with, "/fhir/metadata").Body.String(), "SMART-on-FHIR") {
		t.Error("SMART is not claimed though there is a token endpoint")
	}
	w := get(with, "/fhir/.well-known/smart-configuration")
	var found map[string]any
	if err := json.Unmarshal(w.Body.Bytes(), &found); err != nil || w.Code != http.StatusOK || !strings.HasPrefix(w.Header().Get("Content-Type"), "application/json") {
		t.Fatalf("HTTP %d, %s: %v", w.Code, w.Header().Get("Content-Type"), err)
	}
	if found["token_endpoint"] != endpoint {
		t.Errorf("token endpoint %v, want %s", found["token_endpoint"], endpoint)
	}
	for _, required := range []string{"grant_types_supported", "capabilities", "code_challenge_methods_supported", "scopes_supported"} {
		if list, ok := found[required].([]any); !ok || len(list) == 0 {
			t.Errorf("%s: %v, want a list", required, found[required])
		}
	}
}

// Behind a proxy that ends TLS the address that callers use is the configured one.
func TestBaseIsTheOneThatCallersUse(t *testing.T) {
	h := startWith(t, Config{MaxConcurrent: 8, Base: "https://evenreach.hospital.example/fhir"}, anyone)
	w := h.do(httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/fhir/metadata", nil))
	if !strings.Contains(w.Body.String(), `"url":"https://evenreach.hospital.example/fhir"`) {
		t.Errorf("the statement does not name the configured base: %.900s", w.Body)
	}
	if got := h.find("/fhir/ValueSet?_id=side").Entry[0].FullURL; got != "https://evenreach.hospital.example/fhir/ValueSet/side" {
		t.Errorf("fullUrl %q, want it below the configured base", got)
	}
}

// What may be published needs no token; an operation of a type does, and so does what is of patients.
func TestWhatIsPublic(t *testing.T) {
	h := start(t)
	for path, want := range map[string]bool{
		"/fhir/metadata": true, "/fhir/CodeSystem": true, "/fhir/CodeSystem/shoulder": true,
		"/fhir/CodeSystem/$lookup": false, "/fhir/Patient": false, "/fhir/Patient/p1": false, "/fhir": false, "metadata": false, "/metadata": false,
	} {
		if got := h.server.isPublic(path); got != want {
			t.Errorf("%s is public: %v, want %v", path, got, want)
		}
	}
	// Without tenants what is published is the same for all, so that a cache need not tell callers apart.
	w := h.do(httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/fhir/metadata", nil))
	if strings.Contains(strings.Join(w.Header().Values("Vary"), ","), "Authorization") {
		t.Error("varies by the caller without tenants")
	}
	w = h.do(httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/fhir/metadata?%zz", nil))
	if issues := outcomeOf(t, w.Body.Bytes()); w.Code != http.StatusBadRequest || strings.Contains(issues[0].Diagnostics, "found") {
		t.Errorf("a malformed query: status %d, %+v, want nothing quoted", w.Code, issues)
	}
}
