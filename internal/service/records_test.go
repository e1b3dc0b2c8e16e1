package service

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhirclient"
	"evenreach.example/internal/fhirclient/recordtest"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/queue"
)

// measuredIn is a record that holds what good sends, of some patients.
func measuredIn(t *testing.T, patients ...string) *recordtest.Record {
	t.Helper()
	record := recordtest.New(t)
	for _, id := range patients {
		of := text(t, good())
		of = strings.NewReplacer(`"Patient/p1"`, `"Patient/`+id+`"`, `"id":"p1"`, `"id":"`+id+`"`, `"id":"o`, `"id":"`+id+`-o`, `"id":"c1"`, `"id":"`+id+`-c1"`).Replace(of)
		var b object
		if err := json.Unmarshal([]byte(of), &b); err != nil {
			t.Fatal(err)
		}
		for _, e := range b["entry"].([]any) {
			record.Put(e.(object)["resource"].(object))
		}
	}
	return record
}

// scenarioIn is a record that holds a scenario.
func scenarioIn(t *testing.T, name string) *recordtest.Record {
	t.Helper()
	data, err := os.ReadFile("../../testdata/scenarios/" + name + "/input.json")
	if err != nil {
		t.Fatal(err)
	}
	var b object
	if err := json.Unmarshal(data, &b); err != nil {
		t.Fatal(err)
	}
	record := recordtest.New(t)
	for _, e := range b["entry"].([]any) {
		record.Put(e.(object)["resource"].(object))
	}
	return record
}

// asking starts a service that asks a record, and has a queue.
func (h *harness) asking(record *recordtest.Record, change ...func(*Record)) *queue.Queue {
	h.t.Helper()
	q, err := queue.Open(queue.Options{Quiet: time.Hour}) // until it is closed
	if err != nil {
		h.t.Fatal(err)
	}
	var tokens fhirclient.Tokens
	if record.Tokens != nil {
		tokens = fhirclient.NewBackend(recordtest.ClientID, record.Tokens.URL, "system/*.cruds", record.Tokens.KeyFile, nil)
	}
	r := Record{Client: fhirclient.New(record.URL, tokens, nil), Queue: q}
	for _, c := range change {
		c(&r)
	}
	h.server.ServeRecord(r)
	if h.handler, err = h.server.Handler(); err != nil {
		h.t.Fatal(err)
	}
	return q
}

func (h *harness) send(method, path, body string, headers ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequestWithContext(h.t.Context(), method, path, strings.NewReader(body))
	if body != "" {
		r.Header.Set("Content-Type", "application/fhir+json")
	}
	for i := 0; i+1 < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	return h.do(r)
}

// conclusion is what the DiagnosticReport of an answer says.
func conclusion(t *testing.T, body []byte) string {
	t.Helper()
	var b struct {
		Entry []struct {
			Resource struct{ ResourceType, Conclusion string }
		}
	}
	if err := json.Unmarshal(body, &b); err != nil {
		t.Fatalf("%v: %.300s", err, body)
	}
	for _, e := range b.Entry {
		if e.Resource.ResourceType == "DiagnosticReport" {
			return e.Resource.Conclusion
		}
	}
	t.Fatalf("no report: %.600s", body)
	return ""
}

// The record's patient is assessed as the Bundle that holds the same, by GET and by POST, and nothing is stored.
func TestPatientOfTheRecord(t *testing.T) {
	record := scenarioIn(t, "ten-visits")
	record.Tokens = recordtest.NewTokens(t)
	h := start(t)
	h.asking(record)
	input, err := os.ReadFile("../../testdata/scenarios/ten-visits/input.json")
	if err != nil {
		t.Fatal(err)
	}
	h.pipeline().Now = func() time.Time { return time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC) }
	want := conclusion(t, h.do(request(string(input))).Body.Bytes())
	for _, w := range []*httptest.ResponseRecorder{
		h.send("GET", "/fhir/Patient/demo-1/$assess-shoulder", ""),
		h.send("POST", "/fhir/Patient/demo-1/$assess-shoulder", ""),
		h.send("POST", "/fhir/Patient/demo-1/$assess-shoulder", text(t, parameters(parameter("output", "valueCode", "transaction")))),
		h.send("GET", "/fhir/Patient/demo-1/$assess-shoulder?output=collection", ""),
	} {
		if w.Code != 200 {
			t.Fatalf("status %d: %.600s", w.Code, w.Body)
		}
		if got := conclusion(t, w.Body.Bytes()); got != want {
			t.Errorf("the record's patient is %q, the Bundle's %q", got, want)
		}
	}
	if n := record.Asked("POST "); n != 0 {
		t.Errorf("%d transactions were posted", n)
	}
}

func TestPatientOfTheRecordRefused(t *testing.T) {
	record := measuredIn(t, "p1")
	record.Put(patient("bare"))
	h := start(t)
	h.asking(record)
	for _, c := range []struct {
		method, path, body string
		status             int
		kind               string
	}{
		{"GET", "/fhir/Patient/p9/$assess-shoulder", "", 404, "patient-unknown"},
		{"GET", "/fhir/Patient/%2e%2e/$assess-shoulder", "", 404, "patient-unknown"},
		{"GET", "/fhir/Patient/bare/$assess-shoulder", "", 422, "no-involved-side"},
		{"GET", "/fhir/Patient/p1/$assess-shoulder?output=x", "", 400, "bad-parameter"},
		{"GET", "/fhir/Patient/p1/$store-assessment", "", 405, "wrong-method"},
		{"PUT", "/fhir/Patient/p1/$assess-shoulder", "", 405, "wrong-method"},
		{"GET", "/fhir/Patient/p1/$other", "", 404, "unknown-path"},
		{"POST", "/fhir/Patient/p1/$assess-shoulder", text(t, good()), 400, "bad-parameter"},
		{"POST", "/fhir/Patient/p1/$assess-shoulder", text(t, parameters(object{"name": "bundle", "resource": good()})), 400, "bad-parameter"},
		{"POST", "/fhir/Patient/p1/$store-assessment?output=check", "", 400, "bad-parameter"},
	} {
		w := h.send(c.method, c.path, c.body)
		if w.Code != c.status {
			t.Errorf("%s %s: status %d, want %d: %.300s", c.method, c.path, w.Code, c.status, w.Body)
			continue
		}
		if got := outcomeOf(t, w.Body.Bytes())[0].kind(); got != c.kind {
			t.Errorf("%s %s: %s, want %s", c.method, c.path, got, c.kind)
		}
	}
}

// What is dropped is named by its address in the record.
func TestPlacesInTheRecord(t *testing.T) {
	record := measuredIn(t, "p1")
	record.Put(strength("broken", right, 70, noSide))
	h := start(t)
	h.asking(record)
	w := h.send("GET", "/fhir/Patient/p1/$assess-shoulder?output=check", "")
	if w.Code != 200 || !strings.Contains(w.Body.String(), `"expression":["Observation/broken"]`) {
		t.Errorf("status %d: %s", w.Code, w.Body)
	}
}

// counts is how many resources of each type a record has.
func counts(record *recordtest.Record) map[string]int {
	n := map[string]int{}
	for _, typeName := range []string{"Observation", "Goal", "CarePlan", "DiagnosticReport", "DetectedIssue", "Device"} {
		n[typeName] = len(record.Of(typeName))
	}
	return n
}

func TestStored(t *testing.T) {
	record := measuredIn(t, "p1")
	h := start(t)
	h.asking(record)
	if w := h.send("POST", "/fhir/Patient/p1/$store-assessment", ""); w.Code != 200 {
		t.Fatalf("status %d: %.600s", w.Code, w.Body)
	}
	first := counts(record)
	if first["CarePlan"] != 1 || first["DiagnosticReport"] != 1 || first["Goal"] == 0 {
		t.Fatalf("stored are %v", first)
	}
	if w := h.send("POST", "/fhir/Patient/p1/$store-assessment", ""); w.Code != 200 {
		t.Fatalf("status %d: %.600s", w.Code, w.Body)
	}
	if again := counts(record); !maps.Equal(first, again) {
		t.Errorf("stored again: %v, before %v", again, first)
	}
}

// Source: RFC 9110, section 13: what was changed since it was read is not overwritten. It is read again once; after that
// there is a new proposal.
func TestRecordChangesInTheMeantime(t *testing.T) {
	for _, c := range []struct {
		changes      int32 // of the plan, each just before a transaction
		transactions int
		plans        int
	}{{0, 1, 1}, {1, 2, 2}, {2, 3, 2}} {
		record := measuredIn(t, "p1")
		h := start(t)
		h.asking(record)
		if w := h.send("POST", "/fhir/Patient/p1/$store-assessment?output=living-transaction", ""); w.Code != 200 {
			t.Fatalf("status %d: %.600s", w.Code, w.Body)
		}
		record.Put(strength("p1-new", right, 95, put("effectiveDateTime", "2026-03-05T09:00:00Z")))
		plan := slices.Collect(maps.Values(record.Of("CarePlan")))[0]
		var changed, asked atomic.Int32
		record.Before = func(_ http.ResponseWriter, r *http.Request) bool {
			if r.Method == http.MethodPost && r.URL.Path == "/fhir" {
				asked.Add(1)
				if n := changed.Add(1); n <= c.changes {
					touched := maps.Clone(plan)
					touched["status"], touched["intent"] = "active", "plan"
					touched["title"] = fmt.Sprint("changed by a clinician ", n)
					touched["author"] = object{"reference": "Practitioner/1"}
					record.Put(touched)
					for _, goal := range record.Of("Goal") { // still ours, and to be updated by the second transaction
						record.Put(goal)
					}
				}
			}
			return false
		}
		w := h.send("POST", "/fhir/Patient/p1/$store-assessment?output=living-transaction", "")
		if w.Code != 200 || int(asked.Load()) != c.transactions {
			t.Fatalf("%d changes: status %d after %d transactions, want %d: %.600s", c.changes, w.Code, asked.Load(), c.transactions, w.Body)
		}
		plans := record.Of("CarePlan")
		if len(plans) != c.plans {
			t.Errorf("%d changes: %d plans, want %d", c.changes, len(plans), c.plans)
		}
		if at := "CarePlan/" + plan["id"].(string); c.changes > 0 && plans[at]["title"] != fmt.Sprint("changed by a clinician ", c.changes) {
			t.Errorf("the clinician's plan was overwritten: %v", plans[at]["title"])
		}
	}
}

// A record that dies half-way, is busy or refuses: nothing is stored of a part, and the caller learns whether to repeat.
func TestRecordFails(t *testing.T) {
	for name, c := range map[string]struct {
		at     string
		fail   func(w http.ResponseWriter)
		status int
	}{
		"dies within a page": {"/fhir/Observation/_search", func(http.ResponseWriter) { panic(http.ErrAbortHandler) }, 503},
		"is busy for long": {"/fhir/Goal/_search", func(w http.ResponseWriter) {
			w.Header().Set("Retry-After", "600")
			w.WriteHeader(http.StatusTooManyRequests)
		}, 503},
		"is down":            {"/fhir/Goal/_search", func(w http.ResponseWriter) { w.WriteHeader(http.StatusBadGateway) }, 503},
		"lacks a type":       {"/fhir/DetectedIssue/_search", func(w http.ResponseWriter) { w.WriteHeader(http.StatusNotFound) }, 422},
		"refuses the answer": {"/fhir", func(w http.ResponseWriter) { w.WriteHeader(http.StatusUnprocessableEntity) }, 422},
		"dies as it stores":  {"/fhir", func(http.ResponseWriter) { panic(http.ErrAbortHandler) }, 503},
		"names a foreign page": {"/fhir/Goal/_search", func(w http.ResponseWriter) {
			_, _ = io.WriteString(w, `{"resourceType":"Bundle","type":"searchset","link":[{"relation":"next","url":"http://192.0.2.1/fhir"}]}`)
		}, 422},
		"has conflicts for ever": {"/fhir", func(w http.ResponseWriter) { w.WriteHeader(http.StatusConflict) }, 409},
	} {
		record := measuredIn(t, "p1")
		before := counts(record)
		record.Before = func(w http.ResponseWriter, r *http.Request) bool {
			if r.URL.Path == c.at {
				c.fail(w)
				return true
			}
			return false
		}
		h := start(t)
		h.asking(record)
		if w := h.send("POST", "/fhir/Patient/p1/$store-assessment", ""); w.Code != c.status {
			t.Errorf("%s: status %d, want %d: %.300s", name, w.Code, c.status, w.Body)
		}
		if after := counts(record); !maps.Equal(before, after) {
			t.Errorf("%s: stored are %v, before %v", name, after, before)
		}
	}
}

// Source: SMART App Launch 2, scopes: what writes needs a scope that says so.
func TestStoringNeedsItsScope(t *testing.T) {
	h := guarded(t)
	h.asking(measuredIn(t, "p1"))
	for scope, want := range map[string]int{"system/Observation.rs": 403, "system/Observation.cruds": 200, "system/*.*": 200, "system/Observation.rs system/Observation.cu": 200, "patient/Observation.cruds": 403} {
		token := authtest.New(issuerName).With(map[string]any{"scope": scope}).Sign(t)
		if w := h.send("POST", "/fhir/Patient/p1/$store-assessment", "", "Authorization", "Bearer "+token); w.Code != want {
			t.Errorf("%s: status %d, want %d: %.300s", scope, w.Code, want, w.Body)
		}
	}
	if w := h.send("GET", "/fhir/Patient/p1/$assess-shoulder", ""); w.Code != 401 {
		t.Errorf("without a token: status %d", w.Code)
	}
	if got, want := h.scrape(), `evenreach_token_refusals_total{reason="scope-to-store"} 1`; !strings.Contains(got, want) {
		t.Errorf("the metrics do not say %s", want)
	}
}

// runQueue assesses whoever waits.
func (h *harness) runQueue(q *queue.Queue) {
	q.Close()
	h.server.RunQueue(h.t.Context())
}

// 1,000 notifications in bursts lead to one assessment of each patient.
func TestNotificationsInBursts(t *testing.T) {
	patients := make([]string, 25)
	for i := range patients {
		patients[i] = fmt.Sprintf("p%02d", i)
	}
	record := measuredIn(t, patients...)
	h := startWith(t, Config{MaxConcurrent: 1000}, anyone)
	q := h.asking(record)
	var group sync.WaitGroup
	for i := range 1000 {
		group.Go(func() {
			id := patients[i%len(patients)]
			w := h.send("PUT", "/notifications/Observation/"+id+"-o1", text(t, strength(id+"-o1", right, 80, put("subject", object{"reference": "Patient/" + id}))))
			if w.Code != 200 {
				t.Errorf("status %d: %.300s", w.Code, w.Body)
			}
		})
	}
	group.Wait()
	h.runQueue(q)
	if n := record.Asked("POST "); n != len(patients) {
		t.Errorf("%d transactions for %d patients, want one each", n, len(patients))
	}
	if n := len(record.Of("CarePlan")); n != len(patients) {
		t.Errorf("%d plans for %d patients", n, len(patients))
	}
}

// Each form of a notification leads to the patient.
func TestFormsOfNotifications(t *testing.T) {
	const idOnly = `{"resourceType":"Bundle","type":"history","entry":[{"resource":{"resourceType":"Parameters","parameter":[{"name":"type","valueCode":"event-notification"}]}},{"fullUrl":"%s/Observation/p1-o1","request":{"method":"PUT","url":"Observation/p1-o1"}}]}`
	for name, c := range map[string]struct {
		method, path, body string
		want               int
	}{
		"the resource":           {"PUT", "/notifications/Observation/p1-o1", text(t, strength("p1-o1", right, 80)), 1},
		"nothing but its path":   {"PUT", "/notifications/Observation/p1-o1", "", 1},
		"a deletion":             {"DELETE", "/notifications/Observation/p1-o1", "", 1},
		"nothing at all":         {"POST", "/notifications", "", 2},
		"an id":                  {"POST", "/notifications", idOnly, 1},
		"a handshake":            {"POST", "/notifications", strings.Replace(idOnly, "event-notification", "handshake", 1), 0},
		"what is not there":      {"PUT", "/notifications/Observation/o9", "", 0},
		"what is of no patient":  {"PUT", "/notifications/Device/d1", "", 0},
		"another record's thing": {"POST", "/notifications", strings.Replace(strings.Replace(idOnly, "%s", "https://other.example", 1), `"url":"Observation/p1-o1"`, `"url":"x"`, 1), 2},
	} {
		record := measuredIn(t, "p1", "p2")
		record.Put(object{"resourceType": "Device", "id": "d1"})
		h := start(t)
		q := h.asking(record)
		body := c.body
		if strings.Contains(body, "%s") {
			body = fmt.Sprintf(body, record.URL)
		}
		if w := h.send(c.method, c.path, body); w.Code != 200 {
			t.Errorf("%s: status %d: %.300s", name, w.Code, w.Body)
		}
		if n := q.Len(); n != c.want {
			t.Errorf("%s: %d patients wait, want %d", name, n, c.want)
		}
		if result := map[bool]string{true: "taken", false: "empty"}[c.want > 0]; !strings.Contains(h.scrape(), `evenreach_notifications_total{result="`+result+`"} 1`) {
			t.Errorf("%s: not counted as %s", name, result)
		}
		h.runQueue(q)
	}
}

// A notification that cannot be kept is not taken, so that the record sends it again.
func TestNotificationsRefused(t *testing.T) {
	record := measuredIn(t, "p1")
	h := start(t)
	q := h.asking(record)
	for path, want := range map[string]int{"/notifications/x": 404, "/notifications/Observation%20x/1": 404, "/notifications/Observation/..": 404, "/notificationsx": 404} {
		if w := h.send("POST", path, ""); w.Code != want {
			t.Errorf("%s: status %d, want %d", path, w.Code, want)
		}
	}
	if w := h.send("POST", "/notifications", "{"); w.Code != 400 {
		t.Errorf("no JSON: status %d", w.Code)
	}
	if w := h.send("GET", "/notifications", ""); w.Code != 405 {
		t.Errorf("GET: status %d", w.Code)
	}
	record.Before = func(w http.ResponseWriter, _ *http.Request) bool { w.WriteHeader(http.StatusBadGateway); return true }
	if w := h.send("PUT", "/notifications/Observation/p1-o1", ""); w.Code != 503 || w.Header().Get("Retry-After") == "" {
		t.Errorf("the record is down: status %d", w.Code)
	}
	q.Close()
	if w := h.send("PUT", "/notifications/Patient/p1", text(t, patient("p1"))); w.Code != 503 {
		t.Errorf("the queue is closed: status %d", w.Code)
	}
}

func TestSendersOfNotifications(t *testing.T) {
	const first, second = "0123456789abcdef0123456789abcdef", "another-secret-another-secret-xx"
	file := t.TempDir() + "/secrets"
	write := func(lines ...string) {
		if err := os.WriteFile(file, []byte(strings.Join(lines, "\n")), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(first, second, "short")
	h := guarded(t)
	h.asking(measuredIn(t, "p1"), func(r *Record) {
		r.Senders = auth.SecretsFile{Path: file, Metrics: ops.NewAuthMetrics(prometheus.NewRegistry())}
	})
	try := func(header string) int {
		return h.send("PUT", "/notifications/Patient/p1", text(t, patient("p1")), "Authorization", header).Code
	}
	for header, want := range map[string]int{"Bearer " + first: 200, "bearer " + second: 200, "Bearer short": 401, "Bearer ": 401, "Bearer " + first[1:]: 401, first: 401, "Bearer " + authtest.New(issuerName).Sign(t): 401} {
		if got := try(header); got != want {
			t.Errorf("%.20q: status %d, want %d", header, got, want)
		}
	}
	write(second)
	if try("Bearer "+first) != 401 || try("Bearer "+second) != 200 {
		t.Error("a secret that was replaced is still taken")
	}
	if err := os.Remove(file); err != nil || try("Bearer "+second) != 503 {
		t.Errorf("without its file nobody is let in, for now: %v", err)
	}
}

// What fails for now is tried again, what is refused is not, and a patient without measurements is nothing to do.
func TestQueuedOutcomes(t *testing.T) {
	record := measuredIn(t, "p1")
	record.Put(patient("bare"))
	h := start(t)
	h.asking(record)
	try := func(id string, failed int) time.Duration { return h.server.assessQueued(t.Context(), id, failed) }
	if again := try("p1", 0); again != 0 {
		t.Errorf("a patient is tried again after %v", again)
	}
	if again := try("bare", 0); again != 0 {
		t.Errorf("a patient with nothing to assess is tried again after %v", again)
	}
	if again := try("gone", 0); again != 0 {
		t.Errorf("a patient who is not there is tried again after %v", again)
	}
	record.Before = func(w http.ResponseWriter, _ *http.Request) bool { w.WriteHeader(http.StatusBadGateway); return true }
	for failed, want := range map[int]time.Duration{0: 10 * time.Second, 1: 20 * time.Second, 5: 320 * time.Second, 6: 10 * time.Minute, 1000: 10 * time.Minute} {
		if again := try("p1", failed); again != want {
			t.Errorf("after %d failures it is tried again after %v, want %v", failed, again, want)
		}
	}
	record.Before = func(w http.ResponseWriter, _ *http.Request) bool {
		w.Header().Set("Retry-After", "100")
		w.WriteHeader(http.StatusTooManyRequests)
		return true
	}
	if again := try("p1", 0); again != 100*time.Second {
		t.Errorf("a busy record is asked again after %v, want the 100 s it asks for", again)
	}
	if none := `evenreach_refusals_total{code="nothing-to-assess"}`; strings.Contains(h.scrape(), none) {
		t.Errorf("the metrics have %s, want what was refused alone", none)
	}
	for _, line := range []string{`evenreach_refusals_total{code="internal"} 0`, `evenreach_refusals_total{code="patient-unknown"} 1`, `evenreach_queued_assessments_total{result="stored"} 1`, `evenreach_queued_assessments_total{result="nothing"} 1`, `evenreach_queued_assessments_total{result="refused"} 1`, `evenreach_queued_assessments_total{result="failed"} 6`} {
		if !strings.Contains(h.scrape(), line) {
			t.Errorf("the metrics have no %s", line)
		}
	}
}

// Nothing that is told names the patient.
func TestRecordIsNotTold(t *testing.T) {
	record := measuredIn(t, canary)
	h := start(t)
	q := h.asking(record)
	h.send("GET", "/fhir/Patient/"+canary+"/$assess-shoulder", "")
	h.send("PUT", "/notifications/Observation/"+canary+"-o1", text(t, strength(canary, right, 1, put("subject", object{"reference": "Patient/" + canary}))))
	record.Before = func(w http.ResponseWriter, r *http.Request) bool {
		if r.URL.Path == "/fhir" {
			panic(http.ErrAbortHandler)
		}
		return false
	}
	h.send("POST", "/fhir/Patient/"+canary+"/$store-assessment", "")
	h.send("POST", "/fhir/Patient/"+canary+"9/$store-assessment", "")
	h.runQueue(q)
	h.quiet()
	if n := strings.Count(h.log.String(), `"msg":"request"`); n != 5 {
		t.Errorf("%d lines of log for five requests", n)
	}
}

// The error of a record that does not answer is a refusal, and keeps its cause.
func TestCauseIsKept(t *testing.T) {
	err := recordRefusal(&fhirclient.Busy{After: time.Minute})
	busy, ok := errors.AsType[*fhirclient.Busy](err)
	if !ok || busy.After != time.Minute || refusalOf(err).Kind().String() != "unavailable" {
		t.Errorf("the error is %v", err)
	}
}

// A service that asks no record has no queue to assess.
func TestNoRecordNoQueue(t *testing.T) {
	start(t).server.RunQueue(t.Context())
}

// After two conflicts nothing is updated: the versions of what is ours are forgotten, in each page, and no others.
func TestVersionsOfOursAreForgotten(t *testing.T) {
	ours := []fhir.Identifier{{System: "urn:site", Value: "1"}, {System: fhir.SystemResult, Value: "1"}}
	goal := func(ids []fhir.Identifier, meta *fhir.Meta) *fhir.Goal {
		g := &fhir.Goal{}
		g.Identifier, g.Meta = ids, meta
		return g
	}
	shared := &fhir.Meta{VersionID: "3"}
	mine, theirs, bare, last := goal(ours, shared), goal(ours[:1], shared), goal(ours, nil), goal(ours, &fhir.Meta{VersionID: "4", LastUpdated: "2026-03-02"})
	page := &fhir.Bundle{Entry: []fhir.Entry{{Resource: &fhir.Other{}}, {Resource: bare}, {Resource: theirs}, {Resource: mine}}}
	alone := goal(ours, shared)
	forgetVersions(&fhir.Bundle{Entry: []fhir.Entry{{Resource: alone}, {Resource: page}, {Resource: &fhir.Bundle{Entry: []fhir.Entry{{Resource: last}}}}}})
	if mine.Meta.VersionID != "" || last.Meta.VersionID != "" || last.Meta.LastUpdated != "2026-03-02" {
		t.Errorf("of ours %+v and %+v are left, want no version", mine.Meta, last.Meta)
	}
	if theirs.Meta.VersionID != "3" || shared.VersionID != "3" || bare.Meta != nil || alone.Meta.VersionID != "3" {
		t.Error("what is not ours, or is in no page, lost its version too")
	}
}

// A place in the pages of the record is named by the address there, if there is one.
func TestPlacesInPagesOfTheRecord(t *testing.T) {
	const base = "https://record.example/fhir"
	page := &fhir.Bundle{Link: []fhir.Link{{URL: base + "/Observation?patient=1"}}, Entry: []fhir.Entry{{FullURL: base + "/Observation/7"}, {}}}
	b := &fhir.Bundle{Entry: []fhir.Entry{{Resource: page}, {Resource: &fhir.Patient{}}}}
	for path, want := range map[string]string{
		"Bundle.entry[0].resource.entry[0].resource.value": "Observation/7.value",
		"Bundle.entry[0].resource.total":                   "Observation?patient=1.total",
		"Bundle.entry[0].resource.entry[1].resource.value": "Bundle.entry[0].resource.entry[1].resource.value",
		"Bundle.entry[0].resource.entry[2].resource.value": "Bundle.entry[0].resource.entry[2].resource.value",
		"Bundle.entry[1].resource.birthDate":               "Bundle.entry[1].resource.birthDate",
		"Bundle.entry[2].resource.value":                   "Bundle.entry[2].resource.value",
		"Bundle.total":                                     "Bundle.total",
	} {
		if got := placeInRecord(b, base, path); got != want {
			t.Errorf("%s is named %s, want %s", path, got, want)
		}
	}
}
