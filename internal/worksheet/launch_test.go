package worksheet

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// launched is a launch from an invented record, whose authorization server has an origin of its own.
var launched = &Launch{
	Client:  "worksheet",
	Issuers: []string{"https://record.example/fhir"},
	Origins: []string{"https://id.example", "https://record.example"},
	Scopes:  "patient/Observation.rs",
	Searches: func() []Search {
		return []Search{{"Observation", map[string]string{"code": "http://loinc.org|72514-3"}}}
	},
}

func getLaunched(t *testing.T, target string, launch *Launch) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	Page{Measures: measures, Launch: launch}.Before(teapot).ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, target, http.NoBody))
	return w
}

// directive is one of the policy of an answer.
func directive(w *httptest.ResponseRecorder, name string) string {
	for d := range strings.SplitSeq(w.Header().Get("Content-Security-Policy"), "; ") {
		if rest, ok := strings.CutPrefix(d, name+" "); ok {
			return rest
		}
	}
	return ""
}

// TestTokensGoToTheAllowedOriginsOnly: what a script of the page may ask is the service, the
// records of the configuration and their authorization servers, and nothing of that is more than an origin.
func TestTokensGoToTheAllowedOriginsOnly(t *testing.T) {
	for _, target := range []string{"/worksheet/", "/worksheet/launch.html?iss=https://evil.example", "/worksheet/smart.js", "/worksheet/launch.json"} {
		w := getLaunched(t, target, launched)
		if w.Code != http.StatusOK {
			t.Errorf("%s: status %d", target, w.Code)
		}
		if got, want := directive(w, "connect-src"), "'self' https://id.example https://record.example"; got != want {
			t.Errorf("%s: connect-src %s, want %s", target, got, want)
		}
		if got := w.Header().Get("Referrer-Policy"); got != "no-referrer" {
			t.Errorf("%s: Referrer-Policy %q", target, got)
		}
		if got := w.Header().Get("Cache-Control"); got != "no-store" {
			t.Errorf("%s: Cache-Control %q", target, got)
		}
		if got := directive(w, "default-src"); got != "'none'" {
			t.Errorf("%s: default-src %s", target, got)
		}
	}
}

func TestNothingLaunchesUnlessConfigured(t *testing.T) {
	for _, target := range []string{"/worksheet/launch.html", "/worksheet/launch.json"} {
		if w := getLaunched(t, target, nil); w.Code != http.StatusNotFound {
			t.Errorf("%s: status %d, want 404", target, w.Code)
		}
	}
	if got := directive(getLaunched(t, "/worksheet/", nil), "connect-src"); got != "'self'" {
		t.Errorf("connect-src %s, want 'self'", got)
	}
}

func TestThePageReadsTheConfiguration(t *testing.T) {
	w := getLaunched(t, "/worksheet/launch.json", launched)
	var got map[string]any
	if err := json.Unmarshal(w.Body.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	want := map[string]any{
		"client": "worksheet", "issuers": []any{"https://record.example/fhir"}, "origins": []any{"https://id.example", "https://record.example"},
		"scopes":   "patient/Observation.rs",
		"searches": []any{map[string]any{"type": "Observation", "parameters": map[string]any{"code": "http://loinc.org|72514-3"}}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("launch.json (-want +got):\n%s", diff)
	}
	if got := w.Header().Get("Content-Type"); got != "application/json" {
		t.Errorf("Content-Type %q", got)
	}
}
