package service

import (
	"context"
	"encoding/json"
	"evenreach.example/internal/readiness"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/genproto/googleapis/api/httpbody"

	"evenreach.example/internal/ops"
)

// scrape is what /metrics says.
func (h *harness) scrape() string { return scrapeOf(h.registry) }

// scrapeOf is what /metrics says of a registry.
func scrapeOf(registry *prometheus.Registry) string {
	w := httptest.NewRecorder()
	ops.Admin(registry, ops.NewHealth()).ServeHTTP(w, method(http.MethodGet, "/metrics"))
	return w.Body.String()
}

func TestMetricsTellWhatHappened(t *testing.T) {
	h := start(t)
	client := h.dial()
	h.do(request(collection(t, good(strength("bad", right, 70, noSide)))))
	h.do(request(""))
	h.do(method(http.MethodGet, "/nowhere"))
	if _, err := client.AssessJSON(context.Background(), &httpbody.HttpBody{Data: []byte(text(t, good()))}); err != nil {
		t.Fatal(err)
	}
	metrics := h.scrape()
	for _, want := range []string{
		`evenreach_http_requests_total{code="200",method="POST",operation="/fhir/$assess-shoulder"} 1`,
		`evenreach_http_requests_total{code="400",method="POST",operation="/fhir/$assess-shoulder"} 1`,
		`evenreach_http_requests_total{code="404",method="GET",operation="unmatched"} 1`,
		`evenreach_http_request_duration_seconds_count{operation="/fhir/$assess-shoulder"} 2`,
		`grpc_server_handled_total{grpc_code="OK",grpc_method="AssessJSON",grpc_service="evenreach.v1.AssessmentService",grpc_type="unary"} 1`,
		`grpc_server_handling_seconds_count{grpc_method="AssessJSON",grpc_service="evenreach.v1.AssessmentService",grpc_type="unary"} 1`,
		`evenreach_input_issues_total{code="side-missing",severity="warning"} 1`,
		`evenreach_input_issues_total{code="syntax",severity="fatal"} 1`,
		`evenreach_refusals_total{code="syntax"} 1`,
		`evenreach_refusals_total{code="unknown-path"} 1`,
		`evenreach_assessments_total{status="not-cleared"} 0`,
		`evenreach_red_flags_total{code="near-zero-force"} 0`,
		`evenreach_doubts_total{code="unit-may-be-wrong"} 0`,
		`evenreach_requests_in_flight{door="http"} 0`,
		`evenreach_answer_duration_seconds_count{door="grpc"} 1`,
		`evenreach_build_info{version="test"} 1`,
		`evenreach_protocol_info{digest=`,
		"go_goroutines ",
		"go_gc_heap_live_bytes ",
		"process_cpu_seconds_total ",
	} {
		if !strings.Contains(metrics, want) {
			t.Errorf("/metrics does not say %s", want)
		}
	}
	if got := strings.Count(metrics, "\nevenreach_assessments_total{"); got != len(readiness.Overalls) {
		t.Errorf("%d statuses of assessments, want the %d there are", got, len(readiness.Overalls))
	}
}

// An assessment is counted by its status; a check of the input assesses nothing.
func TestChecksAreNoAssessments(t *testing.T) {
	h := start(t)
	assessments := func() (n int) {
		for line := range strings.Lines(h.scrape()) {
			if strings.HasPrefix(line, "evenreach_assessments_total{") && !strings.HasSuffix(line, " 0\n") {
				n++
			}
		}
		return n
	}
	h.do(withQuery(request(text(t, good())), "output=check"))
	if n := assessments(); n != 0 {
		t.Errorf("%d statuses are counted after a check, want none", n)
	}
	h.do(request(text(t, good())))
	if n := assessments(); n != 1 {
		t.Errorf("%d statuses are counted after an assessment, want one", n)
	}
}

func TestOneLineARequest(t *testing.T) {
	h := start(t)
	h.do(request(collection(t, good(strength("bad", right, 70, noSide))), "X-Request-Id", "visit-17"))
	lines := strings.Split(strings.TrimSpace(h.log.String()), "\n")
	if len(lines) != 1 {
		t.Fatalf("%d lines, want one:\n%s", len(lines), h.log)
	}
	var line struct {
		Level           string
		Msg             string
		RequestID       string `json:"request_id"`
		Door            string
		Operation       string
		Method          string
		Status          int
		DurationSeconds *float64 `json:"duration_seconds"`
		Protocol        string
		Measurements    int
		Issues          map[string]int
	}
	if err := json.Unmarshal([]byte(lines[0]), &line); err != nil {
		t.Fatal(err)
	}
	if line.Level != "INFO" || line.Msg != "request" || line.RequestID != "visit-17" || line.Door != "http" ||
		line.Operation != operationPath || line.Method != http.MethodPost || line.Status != 200 || line.DurationSeconds == nil ||
		line.Protocol != "evenreach-default|2.0.0" || line.Measurements != 2 || line.Issues["warning side-missing"] != 1 {
		t.Errorf("the line says %s", lines[0])
	}
}

// canary stands for what must not be told: it is put wherever an input, an
// address or a header has room for text.
const canary = "canary"

// identified is an input that names a patient in every way.
func identified() object {
	id := object{"system": "urn:" + canary, "value": canary}
	text := object{"status": "generated", "div": `<div xmlns="http://www.w3.org/1999/xhtml">` + canary + `</div>`}
	return good(
		patient(canary, put("identifier", []any{id}), put("name", []any{object{"family": canary}}), put("text", text)),
		strength(canary, canary, 70, put("note", []any{object{"text": canary}}), put("identifier", []any{id})),
		strength("o3", right, 70, put("method", object{"text": canary}), put("valueQuantity", object{"value": 1, "unit": canary, "system": ucum, "code": canary})),
		strength("o4", right, 70, put("modifierExtension", []any{object{"url": "urn:" + canary, "valueString": canary}})),
		strength("o5", right, 70, put("component", []any{component("arm-position", canary)})),
		object{"resourceType": "Basic", "id": canary},
	)
}

func TestNothingOfThePatientIsTold(t *testing.T) {
	h := start(t)
	client := h.dial()
	one := identified()
	one["entry"] = append(one["entry"].([]any)[1:3], one["entry"].([]any)[5:]...) // one patient only, named by reference
	bodies := map[string]string{
		"two patients":      text(t, identified()),
		"assessed":          text(t, one),
		"unknown element":   strings.Replace(text(t, good()), `"status"`, `"`+canary+`":1,"status"`, 1),
		"not JSON":          `{"resourceType":"Bundle","` + canary + `":"` + canary,
		"unknown resource":  `{"resourceType":"` + canary + `"}`,
		"unknown parameter": text(t, parameters(parameter(canary, "valueString", canary), parameter("protocol", "valueString", canary), parameter("involvedSide", "valueCode", canary))),
		"bad date":          text(t, good(strength("bad", right, 70, put("effectiveDateTime", canary)))),
	}
	for name, body := range bodies {
		w := h.do(request(body))
		_, err := client.AssessJSON(context.Background(), &httpbody.HttpBody{Data: []byte(body)})
		isAnswered := name == "assessed" || name == "unknown element" || name == "bad date"
		if (w.Code == http.StatusOK) != isAnswered || (err == nil) != isAnswered {
			t.Errorf("%s: status %d, error %v", name, w.Code, err)
		}
	}
	h.do(request(text(t, good()), "X-Request-Id", canary+" ", "Content-Type", "text/"+canary, "Accept", "text/"+canary, "Content-Encoding", canary))
	h.do(withQuery(request(text(t, good())), canary+"="+canary))
	h.do(method(http.MethodGet, "/fhir/Patient/"+canary))
	h.do(method(strings.ToUpper(canary), operationPath))
	h.do(request(text(t, good()), "Traceparent", "00-"+canary, "Tracestate", canary+"="+canary, "Baggage", canary+"="+canary))
	h.pipeline().Now = func() time.Time { panic(canary) }
	h.do(request(text(t, good())))

	for name, told := range map[string]string{"log": h.log.String(), "metrics": h.scrape(), "spans": h.traces.String()} {
		if i := strings.Index(strings.ToLower(told), canary); i >= 0 {
			t.Errorf("the %s tells of the patient: ...%s", name, told[max(0, i-200):min(len(told), i+50)])
		}
	}
	if lines := strings.Count(h.log.String(), `"msg":"request"`); lines < 2*len(bodies)+6 {
		t.Errorf("%d requests in the log, want one for each", lines)
	}
	if spans := len(h.traces.Spans()); spans < 2*len(bodies)+6 {
		t.Errorf("%d spans, want at least one for each request", spans)
	}
}
