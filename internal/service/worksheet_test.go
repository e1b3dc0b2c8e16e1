package service

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// TestWorksheetNeedsNoToken: the page holds nothing of a patient and must open
// to ask for the token. What it asks for is guarded as for any other caller.
func TestWorksheetNeedsNoToken(t *testing.T) {
	h := guarded(t)
	page := h.do(httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/worksheet/", http.NoBody))
	if page.Code != http.StatusOK || !strings.Contains(page.Body.String(), "<form") {
		t.Errorf("GET /worksheet/ = %d, want 200 with a form", page.Code)
	}
	if policy := page.Header().Get("Content-Security-Policy"); !strings.HasPrefix(policy, "default-src 'none'") {
		t.Errorf("Content-Security-Policy %q", policy)
	}
	if got := page.Header().Get("Cache-Control"); got != "no-store" {
		t.Errorf("Cache-Control %q, want no-store", got)
	}
	if answer := h.do(request("{}")); answer.Code != http.StatusUnauthorized {
		t.Errorf("POST without a token = %d, want 401", answer.Code)
	}
	if told := h.log.String(); !strings.Contains(told, `"operation":"/worksheet"`) {
		t.Errorf("the log does not name the page: %s", told)
	}
}

// TestWorksheetMeasures: the page is told the outcome measures of the protocol by which
// its requests, which name none, are answered, also when another one is loaded.
func TestWorksheetMeasures(t *testing.T) {
	h := start(t)
	told := func() string {
		return h.do(httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/worksheet/measures.json", http.NoBody)).Body.String()
	}
	if got := told(); got != "[]" {
		t.Errorf("found %s of the built-in protocol, want none", got)
	}
	h.server.Load(Content{Protocols: clinicPipeline(t, "").Protocols})
	if got := told(); !strings.HasPrefix(got, `[{"id":"arm-comfort"`) {
		t.Errorf("found %s, want the row arm-comfort", got)
	}
}
