package service

import (
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"sync/atomic"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/cdshooks"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/ops"
)

const instance = "d1577c69-dfbe-44ad-ba6d-3e05e953b2ea"

// startHooks starts a service that answers CDS Hooks and may ask some servers.
func startHooks(t *testing.T, servers ...string) *harness {
	t.Helper()
	h := start(t)
	h.server.ServeHooks(Hooks{Fetcher: cdshooks.NewFetcher(servers, &http.Transport{}), Origins: []string{"https://ehr.example"}})
	var err error
	if h.handler, err = h.server.Handler(); err != nil {
		t.Fatal(err)
	}
	return h
}

func (h *harness) hook(method, path, body string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequestWithContext(h.t.Context(), method, path, strings.NewReader(body))
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	return h.do(r)
}

func searchset(resources ...object) object {
	b := bundle(resources...)
	b["type"] = "searchset"
	if len(resources) == 0 {
		delete(b, "entry")
	}
	return b
}

// measured is the prefetch of a patient who was measured.
func measuredPrefetch() object {
	return object{"patient": patient("p1"), "conditions": searchset(condition()), "procedures": searchset(), "observations": searchset(strength("o1", right, 80), strength("o2", left, 100)), "plans": nil}
}

// hookCall is a call of patient-view.
func hookCall(prefetch object, changes ...change) object {
	return made(object{"hook": "patient-view", "hookInstance": instance, "context": object{"userId": "Practitioner/1", "patientId": "p1"}, "prefetch": prefetch}, changes)
}

func with(o object, name string, value any) object {
	o[name] = value
	return o
}

func without(o object, names ...string) object {
	for _, name := range names {
		delete(o, name)
	}
	return o
}

// Each case is a demand of CDS Hooks 2.0 on a service, by its section.
func TestDiscovery(t *testing.T) {
	w := startHooks(t).hook("GET", "/cds-services", "")
	var d struct{ Services []map[string]any }
	if err := json.Unmarshal(w.Body.Bytes(), &d); err != nil || w.Code != 200 || len(d.Services) != 3 {
		t.Fatalf("status %d, %d services: %v", w.Code, len(d.Services), err)
	}
	for _, s := range d.Services {
		for _, required := range []string{"hook", "description", "id"} {
			if s[required] == "" || s[required] == nil {
				t.Errorf("%v has no %s", s["hook"], required)
			}
		}
		for key, template := range s["prefetch"].(map[string]any) {
			text := template.(string)
			if strings.Contains(text, "://") && strings.Index(text, "://") < strings.Index(text, "?") || strings.HasPrefix(text, "/") || !strings.Contains(text, "{{context.patientId}}") {
				t.Errorf("the template of %s is %.80s; want a relative read or search for the patient", key, text)
			}
		}
	}
}

func TestCards(t *testing.T) {
	w := startHooks(t).hook("POST", "/cds-services/shoulder-recheck", text(t, hookCall(measuredPrefetch())))
	var answer struct {
		Cards []struct {
			UUID, Summary, Indicator, SelectionBehavior string
			Source                                      struct{ Label string }
			Suggestions                                 []struct {
				Label, UUID string
				Actions     []struct {
					Type, Description string
					Resource          struct{ ResourceType, Status, Intent string }
				}
			}
			OverrideReasons []struct{ Code, System, Display string }
		}
		SystemActions any
	}
	if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil || w.Code != 200 || len(answer.Cards) < 3 {
		t.Fatalf("status %d, %d cards: %v: %.300s", w.Code, len(answer.Cards), err, w.Body)
	}
	if answer.SystemActions != nil {
		t.Error("there are system actions: nothing may be done that nobody chose")
	}
	created := map[string]int{}
	for _, c := range answer.Cards {
		if n := utf8.RuneCountInString(c.Summary); n == 0 || n >= 140 {
			t.Errorf("a summary of %d characters, want fewer than 140: %q", n, c.Summary)
		}
		if c.UUID == "" || c.Source.Label == "" || !strings.Contains("info warning critical", c.Indicator) || len(c.OverrideReasons) == 0 {
			t.Errorf("the card is %+v", c)
		}
		if (len(c.Suggestions) > 0) != (c.SelectionBehavior == "any") {
			t.Errorf("%d suggestions with selectionBehavior %q", len(c.Suggestions), c.SelectionBehavior)
		}
		for _, s := range c.Suggestions {
			for _, a := range s.Actions {
				if s.Label == "" || s.UUID == "" || a.Type != "create" || a.Description == "" || a.Resource.Status != "draft" || a.Resource.Intent != "proposal" {
					t.Errorf("the suggestion is %+v", s)
				}
				created[a.Resource.ResourceType]++
			}
		}
	}
	if created["CarePlan"] != 1 || created["ServiceRequest"] == 0 {
		t.Errorf("the suggestions create %v, want the draft plan and the measurements", created)
	}
	if strings.Contains(w.Body.String(), `"urn:`) {
		t.Error("a suggestion refers to what is not created with it")
	}
	if again := startHooks(t).hook("POST", "/cds-services/shoulder-recheck", text(t, hookCall(measuredPrefetch()))); again.Body.String() != w.Body.String() {
		t.Error("the same call is answered otherwise")
	}
}

// The golden file was reviewed: the red flag of the scenario is the first card.
func TestSampleCall(t *testing.T) {
	call, err := os.ReadFile("../../testdata/hooks/patient-view.json")
	if err != nil {
		t.Fatal(err)
	}
	h := startHooks(t)
	h.pipeline().Now = scenarioPipeline().Now
	w := h.hook("POST", "/cds-services/shoulder-recheck", string(call))
	if w.Code != 200 {
		t.Fatalf("status %d: %.300s", w.Code, w.Body)
	}
	golden(t, "../../testdata/hooks/golden.json", fhirjson.Indent(w.Body.Bytes()))
}

// Whatever a client sends, the answer is cards or the client's fault.
func FuzzHooks(f *testing.F) {
	f.Add([]byte(text(f, hookCall(measuredPrefetch()))))
	f.Add([]byte(`{"hook":"order-sign","hookInstance":"` + instance + `","context":{"patientId":"1"},"prefetch":{"observations":[]}}`))
	pipeline := testPipeline()
	server := New(pipeline, ops.NewWatch(ops.NewMetrics(prometheus.NewRegistry(), "test", pipeline.Protocols), ops.NewLogger(io.Discard, slog.LevelError)), auth.Anyone{}, Config{MaxConcurrent: 8})
	server.ServeHooks(Hooks{Fetcher: cdshooks.NewFetcher(nil, &http.Transport{})})
	f.Fuzz(func(t *testing.T, body []byte) {
		if _, err := server.cards(t.Context(), body); err != nil && edge[refusalOf(err).Kind()].http >= 500 {
			t.Fatalf("found %v, want cards or the client's fault", err)
		}
		_, _ = cdshooks.ReadFeedback(body)
	})
}

func TestRedFlagIsTheFirstCard(t *testing.T) {
	p := measuredPrefetch()
	p["observations"] = searchset(strength("o1", right, 80, put("effectiveDateTime", "2026-02-02")), strength("o2", left, 100, put("effectiveDateTime", "2026-02-02")), strength("o3", right, 2), strength("o4", left, 100))
	w := startHooks(t).hook("POST", "/cds-services/shoulder-recheck", text(t, hookCall(p)))
	var answer struct {
		Cards []struct {
			Indicator string
			Source    struct{ Topic struct{ Code string } }
		}
	}
	if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil || len(answer.Cards) == 0 {
		t.Fatalf("status %d: %v: %.300s", w.Code, err, w.Body)
	}
	if c := answer.Cards[0]; c.Indicator != "critical" || c.Source.Topic.Code != "red-flag" {
		t.Errorf("the first card is %+v", c)
	}
}

func TestCallsOfHooks(t *testing.T) {
	tests := []struct {
		name   string
		call   object
		status int
		text   string
	}{
		{"nobody measured the shoulder", hookCall(object{"observations": searchset(), "conditions": searchset(), "procedures": searchset()}), 200, `{"cards":[]}`},
		{"no prefetch", without(hookCall(nil), "prefetch"), 412, "prefetch.observations"},
		{"prefetch that is null", hookCall(object{"observations": nil, "conditions": nil, "procedures": nil}), 412, "prefetch.observations"},
		{"procedures missing", hookCall(without(measuredPrefetch(), "procedures")), 412, "prefetch.procedures"},
		{"patient and plans missing", hookCall(without(measuredPrefetch(), "patient", "plans")), 200, "cards"},
		{"another hook", hookCall(measuredPrefetch(), put("hook", "order-select")), 400, `"hook"`},
		{"no instance", without(hookCall(measuredPrefetch()), "hookInstance"), 400, "hookInstance"},
		{"no UUID", hookCall(measuredPrefetch(), put("hookInstance", "1")), 400, "hookInstance"},
		{"no patient in the context", hookCall(measuredPrefetch(), put("context", object{"userId": "Practitioner/1"})), 400, "context.patientId"},
		{"a patient that is no id", hookCall(measuredPrefetch(), put("context", object{"userId": "Practitioner/1", "patientId": "1/../Patient"})), 400, "context.patientId"},
		{"authorization without server", hookCall(measuredPrefetch(), put("fhirAuthorization", object{"access_token": "t", "token_type": "Bearer", "expires_in": 1, "scope": "s", "subject": "x"})), 400, "fhirServer"},
		{"another type of token", hookCall(measuredPrefetch(), put("fhirServer", "https://x.example"), put("fhirAuthorization", object{"access_token": "t", "token_type": "MAC", "expires_in": 1, "scope": "s", "subject": "x"})), 400, "token_type"},
		{"unknown fields", hookCall(measuredPrefetch(), put("extension", object{"x": 1})), 200, "cards"},
		{"a malformed measurement", hookCall(object{"observations": searchset(strength("o1", right, 80, put("status", "?"))), "conditions": searchset(condition()), "procedures": searchset()}), 422, "prefetch.observations.entry[0].resource"},
		{"an entry without its status", hookCall(with(measuredPrefetch(), "observations", searchset(strength("o1", right, 80), strength("o2", left, 100), without(strength("o3", right, 80), "status")))), 200, "Some of the record is missing"},
		{"a Patient that is not FHIR R4", hookCall(with(measuredPrefetch(), "patient", object{"resourceType": "Patient", "id": "p1", "birthDate": 5})), 200, "cards"},
		{"no Bundle", hookCall(object{"observations": object{"resourceType": 5}, "conditions": searchset(), "procedures": searchset()}), 400, "prefetch.observations"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			w := startHooks(t).hook("POST", "/cds-services/shoulder-recheck", text(t, tt.call))
			if w.Code != tt.status || !strings.Contains(w.Body.String(), tt.text) {
				t.Errorf("status %d, want %d with %q: %.400s", w.Code, tt.status, tt.text, w.Body)
			}
			if w.Code != 200 {
				outcomeOf(t, w.Body.Bytes())
			}
		})
	}
}

func TestAddressesOfHooks(t *testing.T) {
	h := startHooks(t)
	tests := []struct {
		method, path, body, contentType string
		status                          int
	}{
		{"POST", "/cds-services", "", "", 405},
		{"GET", "/cds-services/shoulder-recheck", "", "", 405},
		{"POST", "/cds-services/other", "{}", "application/json", 404},
		{"POST", "/cds-services/shoulder-recheck", "{}", "text/plain", 415},
		{"POST", "/cds-services/shoulder-recheck", "{", "application/json", 400},
		{"POST", "/cds-services/shoulder-recheck", `{"hook":1}`, "application/json", 400},
	}
	for _, tt := range tests {
		if w := h.hook(tt.method, tt.path, tt.body, "Content-Type", tt.contentType); w.Code != tt.status {
			t.Errorf("%s %s: status %d, want %d", tt.method, tt.path, w.Code, tt.status)
		}
	}
	if w := start(t).do(httptest.NewRequestWithContext(t.Context(), "GET", "/cds-services", nil)); w.Code != 404 {
		t.Errorf("status %d where CDS Hooks are off, want 404", w.Code)
	}
}

// ehr is a FHIR server of a caller.
func ehr(t *testing.T, answer func(w http.ResponseWriter, r *http.Request)) (address string, asked *atomic.Int32) {
	t.Helper()
	asked = new(atomic.Int32)
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked.Add(1)
		answer(w, r)
	}))
	t.Cleanup(s.Close)
	return s.URL + "/fhir", asked
}

func authorized(server string) change {
	return func(o object) {
		o["fhirServer"] = server
		o["fhirAuthorization"] = object{"access_token": "TOKEN", "token_type": "Bearer", "expires_in": 300, "scope": "patient/*.rs", "subject": "client"}
	}
}

func TestMissingPrefetchIsFetched(t *testing.T) {
	procedures := text(t, searchset())
	var query, token string
	server, asked := ehr(t, func(w http.ResponseWriter, r *http.Request) {
		query, token = r.URL.String(), r.Header.Get("Authorization")
		_, _ = fmt.Fprint(w, procedures)
	})
	call := text(t, hookCall(without(measuredPrefetch(), "procedures", "plans"), authorized(server), func(o object) {
		o["prefetch"].(object)["plans"] = searchset()
	}))
	w := startHooks(t, server).hook("POST", "/cds-services/shoulder-recheck", call)
	if w.Code != 200 || asked.Load() != 1 || token != "Bearer TOKEN" || !strings.HasPrefix(query, "/fhir/Procedure?patient=p1&code=") {
		t.Errorf("status %d, asked %d times, for %.60s with %q", w.Code, asked.Load(), query, token)
	}
}

// A server that is hostile, or not allowed, gets nothing from the service: no call, no second address, no
// endless reading.
func TestHostileServer(t *testing.T) {
	elsewhere, second := ehr(t, func(http.ResponseWriter, *http.Request) {})
	tests := []struct {
		name    string
		allowed bool
		answer  func(w http.ResponseWriter, r *http.Request)
	}{
		{"not allowed", false, func(http.ResponseWriter, *http.Request) {}},
		{"redirect", true, func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, elsewhere, http.StatusFound) }},
		{"expired token", true, func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusUnauthorized) }},
		{"no FHIR", true, func(w http.ResponseWriter, _ *http.Request) { _, _ = fmt.Fprint(w, "<html>") }},
		{"endless body", true, func(w http.ResponseWriter, r *http.Request) {
			chunk := []byte(strings.Repeat(" ", 1<<20))
			for r.Context().Err() == nil {
				if _, err := w.Write(chunk); err != nil {
					return
				}
			}
		}},
		{"silence", true, func(_ http.ResponseWriter, r *http.Request) {
			select {
			case <-r.Context().Done():
			case <-time.After(30 * time.Second):
			}
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			server, asked := ehr(t, tt.answer)
			var allowed []string
			if tt.allowed {
				allowed = []string{server}
			}
			w := startHooks(t, allowed...).hook("POST", "/cds-services/shoulder-recheck", text(t, hookCall(without(measuredPrefetch(), "procedures", "plans"), authorized(server))))
			if w.Code != 412 {
				t.Errorf("status %d, want 412: %.200s", w.Code, w.Body)
			}
			if !tt.allowed && asked.Load() != 0 {
				t.Error("a server that is not allowed was contacted")
			}
		})
	}
	if second.Load() != 0 {
		t.Error("a redirect was followed")
	}
}

func TestFeedback(t *testing.T) {
	h := startHooks(t)
	good := `{"feedback":[{"card":"c1","outcome":"accepted","acceptedSuggestions":[{"id":"s1"}],"outcomeTimestamp":"2026-03-09T10:00:00Z"},
		{"card":"c2","outcome":"overridden","overrideReason":{"reason":{"code":"later"},"userComment":"CANARY"},"outcomeTimestamp":"2026-03-09T10:00:00Z"},
		{"card":"c3","outcome":"overridden","overrideReason":{"reason":{"code":"CANARY","system":"x"}},"outcomeTimestamp":"2026-03-09T10:00:00Z"}]}`
	if w := h.hook("POST", "/cds-services/shoulder-recheck/feedback", good); w.Code != 200 {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	found := map[string]float64{}
	families, err := h.registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range families {
		for _, m := range f.GetMetric() {
			if f.GetName() == "evenreach_cds_feedback_total" {
				found[m.GetLabel()[0].GetValue()+" "+m.GetLabel()[1].GetValue()] = m.GetCounter().GetValue()
			}
		}
	}
	for _, want := range []string{"accepted none", "overridden later", "overridden other"} {
		if found[want] != 1 {
			t.Errorf("counted %v, want one %s", found, want)
		}
	}
	if strings.Contains(h.log.String(), "CANARY") {
		t.Error("the log holds a user's comment")
	}
	for _, bad := range []string{`{}`, `{"feedback":[{}]}`, strings.Replace(good, "overridden", "ignored", 1), strings.Replace(good, `"acceptedSuggestions":[{"id":"s1"}],`, "", 1)} {
		if w := h.hook("POST", "/cds-services/shoulder-recheck/feedback", bad); w.Code != 400 {
			t.Errorf("status %d for %.80s, want 400", w.Code, bad)
		}
	}
}

// CDS Hooks 2.0, CORS; the headers are those of the Fetch standard.
func TestCORS(t *testing.T) {
	h := startHooks(t)
	allowed := h.hook("OPTIONS", "/cds-services/shoulder-recheck", "", "Origin", "https://ehr.example", "Access-Control-Request-Method", "POST")
	if allowed.Code != 204 || allowed.Header().Get("Access-Control-Allow-Origin") != "https://ehr.example" || !strings.Contains(allowed.Header().Get("Access-Control-Allow-Headers"), "Authorization") {
		t.Errorf("status %d, %v", allowed.Code, allowed.Header())
	}
	other := h.hook("OPTIONS", "/cds-services/shoulder-recheck", "", "Origin", "https://evil.example", "Access-Control-Request-Method", "POST")
	if other.Header().Get("Access-Control-Allow-Origin") != "" || other.Code == 204 {
		t.Errorf("another origin is allowed: status %d, %v", other.Code, other.Header())
	}
	if w := h.hook("GET", "/cds-services", "", "Origin", "https://ehr.example"); w.Code != 200 || w.Header().Get("Access-Control-Allow-Origin") == "" {
		t.Errorf("status %d, %v", w.Code, w.Header())
	}
}

// The hooks fire for everybody: about a patient whose shoulder nobody measured there is nothing to say. Where something was
// dropped, or something else is wrong, the caller is told.
func TestNothingToSay(t *testing.T) {
	of := func(severity fault.Severity, kind fault.Kind) fault.Issue {
		return fault.Issue{Severity: severity, Kind: kind}
	}
	nothing, noSide := of(fault.Error, fault.NothingToAssess), of(fault.Error, fault.NoInvolvedSide)
	for name, c := range map[string]struct {
		issues []fault.Issue
		want   bool
	}{
		"nothing to assess":                     {[]fault.Issue{nothing}, true},
		"nothing to assess, and no side":        {[]fault.Issue{noSide, nothing}, true},
		"nothing to assess, and a remark":       {[]fault.Issue{nothing, of(fault.Information, fault.NotRead)}, true},
		"nothing to assess, but some dropped":   {[]fault.Issue{nothing, of(fault.Warning, fault.UnitUnknown)}, false},
		"nothing to assess, and something else": {[]fault.Issue{nothing, of(fault.Error, fault.SeveralPatients)}, false},
		"no side":                               {[]fault.Issue{noSide}, false},
		"several patients":                      {[]fault.Issue{of(fault.Error, fault.SeveralPatients)}, false},
		"a fault of ours":                       {[]fault.Issue{of(fault.Error, fault.Internal), nothing}, false},
	} {
		if got := nothingToSay(&fault.Errors{Issues: c.issues}); got != c.want {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
	if nothingToSay(io.EOF) {
		t.Error("there is nothing to say about an error of the network")
	}
}

// A server is asked only for what is missing, if the call says where and by what token; each time is counted.
func TestFetchesAreCounted(t *testing.T) {
	resources := map[string]object{"Patient/p1": patient("p1")}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", "application/fhir+json")
		resource, ok := resources[strings.TrimPrefix(r.URL.Path, "/")]
		if !ok {
			resource = searchset()
		}
		_, _ = io.WriteString(w, text(t, resource))
	}))
	defer server.Close()
	token := object{"access_token": "secret", "token_type": "Bearer", "expires_in": 300, "scope": "patient/*.read", "subject": "cds"}
	whole := measuredPrefetch()
	for key := range startHooks(t).server.templates(t.Context()) {
		if whole[key] == nil {
			whole[key] = searchset()
		}
	}
	part := without(maps.Clone(whole), "patient")
	for name, c := range map[string]struct {
		call object
		want string // the result that is counted; empty for none
	}{
		"nothing is missing":  {hookCall(whole, put("fhirServer", server.URL), put("fhirAuthorization", token)), ""},
		"no server is named":  {hookCall(part, put("fhirAuthorization", token)), ""},
		"no token is sent":    {hookCall(part, put("fhirServer", server.URL)), ""},
		"what is missing":     {hookCall(part, put("fhirServer", server.URL), put("fhirAuthorization", token)), "ok"},
		"of a foreign server": {hookCall(part, put("fhirServer", "https://other.example/fhir"), put("fhirAuthorization", token)), "denied"},
	} {
		h := startHooks(t, server.URL)
		h.hook("POST", "/cds-services/shoulder-recheck", text(t, c.call))
		for _, result := range []string{"ok", "failed", "denied"} {
			if counted := strings.Contains(h.scrape(), `evenreach_cds_fetches_total{result="`+result+`"} 1`); counted != (result == c.want) {
				t.Errorf("%s: %s is counted: %v, want %q", name, result, counted, c.want)
			}
		}
	}
}
