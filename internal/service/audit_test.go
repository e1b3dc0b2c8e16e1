package service

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"log/slog"
	"net/http"
	"strings"
	"sync"
	"testing"

	"github.com/google/fhir/go/fhirversion"
	"github.com/google/fhir/go/jsonformat"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/audit"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/ops"
)

// caller lets in one client, which asks for a person.
type caller struct{ auth.Caller }

func (c caller) Authenticate(context.Context, auth.Credentials) (auth.Caller, error) {
	return c.Caller, nil
}

// file is what an audit trail is written to.
type file struct {
	mu  sync.Mutex
	to  bytes.Buffer
	err error
}

func (f *file) Write(p []byte) (int, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.err != nil {
		return 0, f.err
	}
	return f.to.Write(p)
}

func (f *file) fail(err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.err = err
}

// lines takes what was written.
func (f *file) lines() []string {
	f.mu.Lock()
	defer f.mu.Unlock()
	defer f.to.Reset()
	return strings.Split(strings.TrimSuffix(f.to.String(), "\n"), "\n")
}

// audited starts a service with an audit trail.
func audited(t *testing.T, c audit.Config, who auth.Caller) (*harness, *file, *prometheus.Registry) {
	t.Helper()
	to, registry := &file{}, prometheus.NewRegistry()
	c.To = to
	trail := audit.New(c, "test", registry)
	t.Cleanup(trail.Close)
	h := startWith(t, Config{MaxConcurrent: 8, Trail: trail}, func(*ops.AuthMetrics, *slog.Logger) Authenticator { return caller{who} })
	return h, to, registry
}

// event is what the tests read of an AuditEvent.
type event struct {
	Outcome, OutcomeDesc string
	Source               struct{ Site string }
	Agent                []struct {
		Who       struct{ Identifier struct{ Value string } }
		Requestor bool
	}
	Entity []struct {
		Name string
		What struct {
			Reference  string
			Identifier struct{ System, Value string }
		}
		Detail []struct{ Type, ValueString string }
	}
}

func readEvent(t *testing.T, line string) (e event) {
	t.Helper()
	if err := json.Unmarshal([]byte(line), &e); err != nil {
		t.Fatalf("%v: %s", err, line)
	}
	return e
}

func TestEveryAssessmentIsAudited(t *testing.T) {
	h, to, registry := audited(t, audit.Config{Patients: audit.Pseudonym, Key: []byte("key of the test")}, auth.Caller{Client: "record", Person: "user-7"})
	if w := h.do(request(text(t, good()), "X-Request-Id", "visit-17")); w.Code != http.StatusOK {
		t.Fatalf("HTTP %d", w.Code)
	}
	lines := to.lines()
	if len(lines) != 1 {
		t.Fatalf("%d events, want one", len(lines))
	}
	u, err := jsonformat.NewUnmarshaller("UTC", fhirversion.R4)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := u.UnmarshalR4([]byte(lines[0])); err != nil {
		t.Errorf("no AuditEvent of R4: %v: %s", err, lines[0])
	}
	e := readEvent(t, lines[0])
	if e.Outcome != "0" || len(e.Agent) != 2 || e.Agent[0].Who.Identifier.Value != "user-7" || !e.Agent[0].Requestor || e.Agent[1].Who.Identifier.Value != "record" || e.Agent[1].Requestor {
		t.Errorf("outcome and agents %+v, want success by user-7 through record", e)
	}
	if len(e.Entity) != 2 || e.Entity[0].Name != operationPath || !strings.HasSuffix(e.Entity[1].What.Identifier.System, "/pseudonym") {
		t.Fatalf("entities %+v, want the operation and the patient", e.Entity)
	}
	want := map[string]string{"request-id": "visit-17", "door": "http", "protocol": protocolName(h.pipeline().Protocols[0]), "protocol-digest": h.pipeline().Protocols[0].Digest()}
	for _, d := range e.Entity[0].Detail {
		if want[d.Type] != d.ValueString {
			t.Errorf("%s is %q, want %q", d.Type, d.ValueString, want[d.Type])
		}
		delete(want, d.Type)
	}
	if len(want) > 0 {
		t.Errorf("not told: %v", want)
	}
	pseudonym := e.Entity[1].What.Identifier.Value
	if strings.Contains(lines[0], "p1") || len(pseudonym) != 32 {
		t.Errorf("the event names the patient, or has no pseudonym: %s", lines[0])
	}
	if strings.Contains(h.log.String(), "user-7") || strings.Contains(h.log.String(), pseudonym) {
		t.Error("the log names the person or the patient")
	}
	if _, err := h.dial().Assess(t.Context(), &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}); err != nil {
		t.Fatal(err)
	}
	again := readEvent(t, to.lines()[0])
	if again.Entity[1].What.Identifier.Value != pseudonym || again.Entity[0].Name != evenreachv1.AssessmentService_Assess_FullMethodName {
		t.Errorf("by gRPC %+v, want the same pseudonym and its own operation", again.Entity)
	}
	if text := scrapeOf(registry); !strings.Contains(text, `evenreach_audit_events_total{result="written"} 2`) || !strings.Contains(text, `evenreach_audit_events_total{result="lost"} 0`) {
		t.Errorf("the events are not counted: %s", text)
	}
}

func TestHowPatientsAreNamed(t *testing.T) {
	pseudonym := func(key string) string {
		h, to, _ := audited(t, audit.Config{Patients: audit.Pseudonym, Key: []byte(key)}, auth.Caller{})
		h.do(request(text(t, good())))
		return readEvent(t, to.lines()[0]).Entity[1].What.Identifier.Value
	}
	if a, b := pseudonym("one key"), pseudonym("another"); a == b || a != pseudonym("one key") {
		t.Errorf("pseudonyms %s and %s of two keys, want two that stay the same", a, b)
	}
	h, to, _ := audited(t, audit.Config{Patients: audit.Clear}, auth.Caller{})
	h.do(request(text(t, good())))
	if e := readEvent(t, to.lines()[0]); e.Entity[1].What.Reference != "Patient/p1" {
		t.Errorf("in clear %+v, want Patient/p1", e.Entity)
	}
	h, to, _ = audited(t, audit.Config{Patients: audit.Nobody}, auth.Caller{})
	h.do(request(text(t, good())))
	if e := readEvent(t, to.lines()[0]); len(e.Entity) != 1 {
		t.Errorf("%+v, want no patient", e.Entity)
	}
}

func TestRefusedAssessmentsAreAudited(t *testing.T) {
	h, to, _ := audited(t, audit.Config{Patients: audit.Clear}, auth.Caller{Client: "record"})
	h.do(request(text(t, bundle(patient("p1")))))
	if e := readEvent(t, to.lines()[0]); e.Outcome != "4" || e.OutcomeDesc != "nothing-to-assess" && e.OutcomeDesc != "no-involved-side" {
		t.Errorf("outcome %s, %s; want 4 for the caller's reason", e.Outcome, e.OutcomeDesc)
	}
	if o, why := outcomeFor(errors.New("defect")); o != audit.Serious || why != "internal" {
		t.Errorf("a defect: %s, %s", o, why)
	}
	if o, why := outcomeFor(context.DeadlineExceeded); o != audit.Serious || why != "timeout" {
		t.Errorf("too late: %s, %s", o, why)
	}
	if o, why := outcomeFor(context.Canceled); o != audit.Minor || why != "canceled" {
		t.Errorf("hung up: %s, %s", o, why)
	}
}

// What cannot be written is counted, and nothing is answered where it must not be lost.
func TestLostEvents(t *testing.T) {
	for _, required := range []bool{false, true} {
		h, to, registry := audited(t, audit.Config{Patients: audit.Nobody, Required: required}, auth.Caller{})
		to.fail(errors.New("no space left on device"))
		want, code := http.StatusOK, codes.OK
		if required {
			want, code = http.StatusServiceUnavailable, codes.Unavailable
		}
		if w := h.do(request(text(t, good()))); w.Code != want {
			t.Errorf("required %v: HTTP %d, want %d: %.200s", required, w.Code, want, w.Body)
		}
		_, err := h.dial().Assess(t.Context(), &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))})
		if status.Code(err) != code {
			t.Errorf("required %v: %v, want %v", required, err, code)
		}
		if w := h.do(request(text(t, bundle(patient("p1"))))); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("required %v: HTTP %d for what is refused anyway, want 422", required, w.Code)
		}
		if text := scrapeOf(registry); !strings.Contains(text, `evenreach_audit_events_total{result="lost"} 3`) {
			t.Errorf("required %v: the lost events are not counted: %s", required, text)
		}
		to.fail(nil)
		if w := h.do(request(text(t, good()))); w.Code != http.StatusOK {
			t.Errorf("required %v: HTTP %d once it can be written, want 200", required, w.Code)
		}
	}
}
