//go:build record

package conformance

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"sync/atomic"
	"testing"
	"time"

	"evenreach.example/internal/fhirclient/recordtest"
)

// guarded is a record behind a token server, which sees each request first.
type guarded struct {
	base         string
	tokens       *recordtest.Tokens
	transactions atomic.Int32
	before       atomic.Pointer[func(w http.ResponseWriter, r *http.Request) bool] // reports whether it answered
}

func guard(t *testing.T, record store) *guarded {
	t.Helper()
	at, err := url.Parse(record.base)
	if err != nil {
		t.Fatal(err)
	}
	g := &guarded{tokens: recordtest.NewTokens(t)}
	proxy := &httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) {
		r.Out.URL.Scheme, r.Out.URL.Host, r.Out.Host = at.Scheme, at.Host, r.In.Host // so that its links lead here
	}}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !g.tokens.Accepts(r.Header.Get("Authorization")) {
			w.WriteHeader(http.StatusUnauthorized)
			return
		}
		if r.Method == http.MethodPost && r.URL.Path == at.Path {
			g.transactions.Add(1)
		}
		if before := g.before.Load(); before != nil && (*before)(w, r) {
			return
		}
		proxy.ServeHTTP(w, r)
	}))
	t.Cleanup(server.Close)
	g.base = server.URL + at.Path
	return g
}

// The record is asked and written by the program itself, with tokens, pages, a busy moment and a clinician who changes the
// plan at the worst time; and its notifications lead to one assessment.
func TestRecordAsASource(t *testing.T) {
	record := recordServer(t)
	g := guard(t, record)
	evenreach := served(t, "--record-base", g.base, "--record-client", recordtest.ClientID, "--record-token-url", g.tokens.URL, "--record-key", g.tokens.KeyFile, "--notification-quiet=2s")
	fill(t, record)
	service := store{t, evenreach.FHIR}

	var asked atomic.Int32
	busy := func(w http.ResponseWriter, _ *http.Request) bool {
		if asked.Add(1)%5 != 0 {
			return false
		}
		w.Header().Set("Retry-After", "1")
		w.WriteHeader(http.StatusTooManyRequests)
		return true
	}
	g.before.Store(&busy)
	service.done("POST", "Patient/demo-1/$store-assessment?output=living-transaction", nil)
	g.before.Store(nil)
	kinds := []string{"Observation", "Goal", "CarePlan", "DiagnosticReport"}
	first := map[string]float64{}
	for _, kind := range kinds {
		first[kind] = record.count(kind)
	}
	if first["CarePlan"] != 1 || first["DiagnosticReport"] != 1 {
		t.Fatalf("stored are %v", first)
	}
	service.done("POST", "Patient/demo-1/$store-assessment?output=living-transaction", nil)
	for _, kind := range kinds {
		if n := record.count(kind); n != first[kind] {
			t.Errorf("after the same again there are %v of %s, before %v", n, kind, first[kind])
		}
	}

	// A clinician accepts the plan between reading and storing.
	changed := false
	accept := func(_ http.ResponseWriter, r *http.Request) bool {
		if r.Method != http.MethodPost || r.URL.Path != "/fhir" || changed {
			return false
		}
		changed = true
		plan := record.search("CarePlan", "patient", "Patient/demo-1")[0]
		plan["status"], plan["intent"], plan["title"] = "active", "plan", "as the clinician left it"
		record.update(plan)
		return false
	}
	g.before.Store(&accept)
	before := g.transactions.Load()
	service.done("POST", "Patient/demo-1/$store-assessment?output=living-transaction&asOf=2026-06-01", nil)
	g.before.Store(nil)
	if n := g.transactions.Load() - before; n != 2 {
		t.Errorf("%d transactions, want a second one after the conflict", n)
	}
	kept, drafts := 0, 0
	for _, plan := range record.search("CarePlan", "patient", "Patient/demo-1") {
		if plan["title"] == "as the clinician left it" && plan["status"] == "active" {
			kept++
		} else if plan["status"] == "draft" {
			drafts++
		}
	}
	if kept != 1 || drafts != 1 {
		t.Errorf("%d plans as the clinician left them and %d drafts, want one of each", kept, drafts)
	}
	g.notify(t, evenreach)
}

// fill stores a scenario.
func fill(t *testing.T, record store) {
	t.Helper()
	text, err := os.ReadFile("../../testdata/scenarios/ten-visits/input.json")
	if err != nil {
		t.Fatal(err)
	}
	var bundle resource
	if err := json.Unmarshal(text, &bundle); err != nil {
		t.Fatal(err)
	}
	bundle["type"] = "transaction"
	for _, e := range list(bundle["entry"]) {
		e["request"] = resource{"method": "PUT", "url": addressOf(e["resource"].(resource))}
	}
	record.done("POST", "", bundle)
}

// notify sends notifications in bursts and waits for what follows.
func (g *guarded) notify(t *testing.T, evenreach addresses) {
	t.Helper()
	before := g.transactions.Load()
	address := evenreach.FHIR[:len(evenreach.FHIR)-len("/fhir")] + "/notifications/Observation/x"
	for i := range 1000 {
		body := fmt.Sprintf(`{"resourceType":"Observation","id":"n%d","subject":{"reference":"Patient/demo-1"}}`, i)
		request, err := http.NewRequestWithContext(t.Context(), http.MethodPut, address, bytes.NewReader([]byte(body)))
		if err != nil {
			t.Fatal(err)
		}
		request.Header.Set("Content-Type", "application/fhir+json")
		response, err := patient.Do(request)
		if err != nil {
			t.Fatal(err)
		}
		_ = response.Body.Close()
		if response.StatusCode != http.StatusOK {
			t.Fatalf("a notification is answered with %d", response.StatusCode)
		}
	}
	for deadline := time.Now().Add(time.Minute); g.transactions.Load() == before && time.Now().Before(deadline); {
		time.Sleep(100 * time.Millisecond)
	}
	time.Sleep(5 * time.Second) // longer than the quiet time, for one too many
	if n := g.transactions.Load() - before; n != 1 {
		t.Errorf("1,000 notifications of one patient led to %d transactions, want one", n)
	}
}
