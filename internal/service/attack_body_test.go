package service

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/auth/authtest"
)

// enough is a time in which any body of at most the limit is answered, even on
// a slow machine; what grows with the square of the length takes minutes.
const enough = 20 * time.Second

func TestAttackByBody(t *testing.T) {
	h := guarded(t)
	token := "Bearer " + authtest.New(issuerName).Sign(t)
	head := `{"resourceType":"Bundle","type":"collection","entry":[{"resource":{"resourceType":"Observation",`
	nested := func(open, shut string, depth int) string {
		return head + `"extension":` + strings.Repeat(open, depth) + strings.Repeat(shut, depth) + `}}]}`
	}
	tests := []struct {
		name    string
		body    string
		headers []string
		status  int
		kind    string
		source  string
	}{
		{"compression bomb", bomb(t, 1<<10), []string{"Content-Encoding", "gzip"}, 413, "too-long", "1 GiB of spaces in 1 MiB"},
		{"bomb in a bomb", gzipped(t, bomb(t, 64)), []string{"Content-Encoding", "gzip"}, 400, "syntax", "it is inflated once"},
		{"two encodings", gzipped(t, gzipped(t, "{}")), []string{"Content-Encoding", "gzip, gzip"}, 415, "media-type-unknown", "it is inflated once"},
		{"arrays in arrays", nested(`[`, `]`, 1_000_000), nil, 413, "too-long", "depth is limited"},
		{"objects in objects", nested(`[{"extension":`, `}]`, 200_000), nil, 413, "too-long", "depth is limited"},
		{"contained in contained", nested(`[{"contained":`, `}]`, 200_000), nil, 413, "too-long", "depth is limited"},
		{"300,000 names in an object", head + names(300_000) + `}}]}`, nil, 413, "too-long", "a table of names must not be flooded"},
		{"a name 100,000 times", head + strings.Repeat(`"id":"a",`, 100_000) + `"id":"a"}}]}`, nil, 400, "duplicate-name", "a name stands once"},
		{"a number of a million digits", strings.Replace(collection(t, good()), `"value":80`, `"value":`+strings.Repeat("9", 1_000_000), 1), nil, 200, "bad-value", "arithmetic must not work for minutes"},
		{"30,000 entries", `{"resourceType":"Bundle","type":"collection","entry":[{"fullUrl":"a"}` + strings.Repeat(`,{"fullUrl":"a"}`, 30_000) + `]}`, nil, 413, "too-long", "entries are limited"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			begin := time.Now()
			w := h.do(request(tt.body, append(tt.headers, "Authorization", token)...))
			if took := time.Since(begin); took > enough {
				t.Errorf("the answer took %v, want at most %v", took, enough)
			}
			if w.Code != tt.status {
				t.Fatalf("status %d, want %d (%s): %.300s", w.Code, tt.status, tt.source, w.Body)
			}
			issues := outcomeOf(t, w.Body.Bytes())
			if !slices.ContainsFunc(issues, func(i issue) bool { return i.kind() == tt.kind }) {
				t.Errorf("issues %.300v, want one of kind %s (%s)", issues, tt.kind, tt.source)
			}
			if w.Body.Len() > 1<<20 {
				t.Errorf("the answer has %d bytes: an attack must not be amplified", w.Body.Len())
			}
		})
	}
}

// names are that many names of an object.
func names(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, `"n%d":0,`, i)
	}
	return strings.TrimSuffix(b.String(), ",")
}

// bomb is that many mebibytes of spaces, compressed: gzip may have members.
func bomb(t *testing.T, mebibytes int) string {
	t.Helper()
	return strings.Repeat(gzipped(t, strings.Repeat(" ", 1<<20)), mebibytes)
}

// A bomb must not take the memory of what it would inflate to.
func TestBombTakesNoMemory(t *testing.T) {
	h := start(t)
	body := bomb(t, 1<<10)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	if w := h.do(request(body, "Content-Encoding", "gzip")); w.Code != http.StatusRequestEntityTooLarge {
		t.Fatalf("status %d, want 413", w.Code)
	}
	runtime.ReadMemStats(&after)
	if taken := after.TotalAlloc - before.TotalAlloc; taken > 64<<20 {
		t.Errorf("%d bytes were allocated for a bomb of 1 GiB, want at most some of the 8 MiB limit", taken)
	}
}

// The limit of the inflated body is the control against bombs, and does not rest on the
// budget for all bodies, which here has room for the whole bomb.
func TestBombIsInflatedToTheLimit(t *testing.T) {
	const limit = 8 << 20
	for _, kind := range []string{"gzip", "x-gzip"} {
		budget := new(budget)
		budget.give(1 << 40)
		body := &requestBody{buffer: new(bytes.Buffer), from: budget}
		if err := fill(body, strings.NewReader(bomb(t, 64)), kind, limit); !errors.Is(err, errTooLong) {
			t.Errorf("%s: %v, want it refused as too long", kind, err)
		}
		if got := body.buffer.Len(); got > limit+1 {
			t.Errorf("%s: %d bytes were inflated, want no more than tell that the limit of %d is passed", kind, got, limit)
		}
	}
}

// What is in a narrative is neither resolved nor handed on.
//
// Source: FHIR R4, narrative: no entities but those of HTML; OWASP, XML
// external entities.
func TestAttackByNarrative(t *testing.T) {
	h := guarded(t)
	token := "Bearer " + authtest.New(issuerName).Sign(t)
	tests := []struct {
		name   string
		div    string
		status int
	}{
		{"external entity", `<!DOCTYPE d [<!ENTITY x SYSTEM "file:///etc/hostname">]><div xmlns="http://www.w3.org/1999/xhtml">&x; payload</div>`, http.StatusUnprocessableEntity},
		{"entity bomb", `<!DOCTYPE d [<!ENTITY a "payload"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><div xmlns="http://www.w3.org/1999/xhtml">&b;&b;&b;</div>`, http.StatusUnprocessableEntity},
		{"script", `<div xmlns="http://www.w3.org/1999/xhtml"><script>payload()</script></div>`, http.StatusOK},
		{"event", `<div xmlns="http://www.w3.org/1999/xhtml" onclick="payload()">a</div>`, http.StatusOK},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			narrative := object{"status": "generated", "div": tt.div}
			input := text(t, bundle(
				patient("p1", put("text", narrative)), condition(put("text", narrative)),
				strength("o1", right, 80, put("text", narrative)), strength("o2", left, 100, put("note", []any{object{"text": tt.div}}))))
			w := h.do(request(input, "Authorization", token))
			if w.Code != tt.status {
				t.Fatalf("status %d, want %d: %.300s", w.Code, tt.status, w.Body)
			}
			if w.Code != http.StatusOK {
				if w.Body.Len() > 8<<10 {
					t.Errorf("the refusal has %d bytes, want no more than a quotation", w.Body.Len())
				}
				return
			}
			for _, bad := range []string{"payload", "ENTITY", "DOCTYPE", "<script", "onclick"} {
				if strings.Contains(w.Body.String(), bad) {
					t.Errorf("the answer holds %q", bad)
				}
			}
		})
	}
}

// Text that becomes markup in our own narrative is escaped.
func TestAttackByTextInOurNarrative(t *testing.T) {
	h := start(t)
	const markup = `<img src=x onerror=payload()>`
	w := h.do(request(collection(t, good(strength("bad", right, 70, put("valueQuantity", object{"value": 1, "unit": markup, "system": ucum, "code": markup}))))))
	if w.Code != http.StatusOK {
		t.Fatalf("status %d, want 200: %.300s", w.Code, w.Body)
	}
	var answer struct {
		Entry []struct {
			Resource struct{ Text struct{ Div string } }
		}
	}
	if err := json.Unmarshal(w.Body.Bytes(), &answer); err != nil {
		t.Fatal(err)
	}
	narratives := 0
	for _, e := range answer.Entry {
		if strings.Contains(e.Resource.Text.Div, "<img") {
			t.Errorf("markup of the input in a narrative: %.300s", e.Resource.Text.Div)
		}
		if e.Resource.Text.Div != "" {
			narratives++
		}
	}
	if narratives == 0 {
		t.Error("the answer has no narrative to look at")
	}
}

// Whatever a caller sends, a line of the log is one JSON object of ours.
func TestAttackByTextInTheLog(t *testing.T) {
	h := guarded(t)
	const forged = "\n{\"level\":\"ERROR\",\"msg\":\"forged\"}\r\n\x1b[2J\u2028"
	token := authtest.New(issuerName).With(map[string]any{"iss": issuerName + forged, "client_id": forged, "scope": forged})
	token.KeyID = forged
	requests := []*http.Request{
		request(forged, "Authorization", "Bearer "+token.Sign(t)),
		request(forged, "X-Request-Id", forged),
		request(forged, "Authorization", "Bearer "+authtest.New(issuerName).Sign(t), "User-Agent", forged, "X-Forwarded-For", forged),
		method("POST", "/fhir/%0A%7B%22msg%22:%22forged%22%7D"),
		method("FORGED", operationPath),
	}
	for _, r := range requests {
		h.do(r)
	}
	lines := strings.Split(strings.TrimSpace(h.log.String()), "\n")
	if len(lines) != len(requests) {
		t.Errorf("%d lines for %d requests", len(lines), len(requests))
	}
	for _, line := range lines {
		var entry struct{ Msg string }
		if err := json.Unmarshal([]byte(line), &entry); err != nil || entry.Msg != "request" || strings.Contains(strings.ToLower(line), "forged") {
			t.Errorf("error %v in the line %s", err, line)
		}
	}
}
