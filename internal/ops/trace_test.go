package ops

import (
	"bytes"
	"context"
	"encoding/hex"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"
	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	tracepb "go.opentelemetry.io/proto/otlp/trace/v1"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/ops/opstest"
	"evenreach.example/internal/readiness"
)

// tracing is a Watch whose spans come to a collector.
func tracing(t *testing.T) (*Watch, *opstest.Collector, *bytes.Buffer) {
	t.Helper()
	watch, _, log := watching()
	var collector opstest.Collector
	watch.Trace(collector.Provider(t))
	return watch, &collector, log
}

const (
	callersTrace = "4bf92f3577b34da6a3ce929d0e0e4736" // W3C Trace Context, example of section 3.2.3
	callersSpan  = "00f067aa0ba902b7"
	sampled      = "00-" + callersTrace + "-" + callersSpan + "-01"
)

func TestTraceOfTheCaller(t *testing.T) {
	tests := []struct {
		name, source string
		parent       []string
		state        []string
		joined       bool
		wantState    string
	}{
		{"sampled", "W3C Trace Context 3.2.3", []string{sampled}, nil, true, ""},
		{"with state", "3.3", []string{sampled}, []string{"congo=t61rcWkgMzE"}, true, "congo=t61rcWkgMzE"},
		{"state in two headers", "3.3: they are combined", []string{sampled}, []string{"a=1", "b=2"}, true, "a=1,b=2"},
		{"malformed state", "3.3: it does not affect traceparent", []string{sampled}, []string{"=;="}, true, ""},
		{"later version with more fields", "3.2.4: parse what is known", []string{"01" + sampled[2:] + "-more"}, nil, true, ""},
		{"none", "a new trace", nil, nil, false, ""},
		{"state alone", "3.3: it is not parsed", nil, []string{"a=1"}, false, ""},
		{"empty", "3.2", []string{""}, nil, false, ""},
		{"two", "3.2: one header", []string{sampled, sampled}, nil, false, ""},
		{"forbidden version", "3.2.2.1: ff", []string{"ff" + sampled[2:]}, nil, false, ""},
		{"more fields", "3.2.2: version 00 has four", []string{sampled + "-more"}, nil, false, ""},
		{"upper case", "3.2: lower case", []string{strings.ToUpper(sampled)}, nil, false, ""},
		{"zero trace id", "3.2.2.3", []string{"00-" + strings.Repeat("0", 32) + "-" + callersSpan + "-01"}, nil, false, ""},
		{"zero parent id", "3.2.2.4", []string{"00-" + callersTrace + "-" + strings.Repeat("0", 16) + "-01"}, nil, false, ""},
		{"too short", "3.2.2", []string{sampled[:40]}, nil, false, ""},
		{"text", "3.2.2", []string{"canary"}, nil, false, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			watch, collector, log := tracing(t)
			headers := http.Header{"Traceparent": tt.parent, "Tracestate": tt.state}
			_, call := watch.Begin(watch.JoinHTTP(t.Context(), headers), HTTP, "id", "route")
			watch.EndHTTP(call, http.MethodPost, 200)
			md := metadata.MD{"traceparent": tt.parent, "tracestate": tt.state}
			_, call = watch.Begin(watch.JoinGRPC(metadata.NewIncomingContext(t.Context(), md)), GRPC, "id", "/s/m")
			watch.End(call, codes.OK)
			spans := collector.Spans()
			if len(spans) != 2 {
				t.Fatalf("%d spans, want one of each door", len(spans))
			}
			for _, span := range spans {
				joined := hex.EncodeToString(span.GetTraceId()) == callersTrace && hex.EncodeToString(span.GetParentSpanId()) == callersSpan
				if joined != tt.joined || span.GetTraceState() != tt.wantState {
					t.Errorf("%s: joined %v with state %q, want %v with %q (%s)", span.GetName(), joined, span.GetTraceState(), tt.joined, tt.wantState, tt.source)
				}
				if id := hex.EncodeToString(span.GetTraceId()); !strings.Contains(log.String(), `"trace_id":"`+id+`"`) {
					t.Errorf("the log does not name the trace %s: %s", id, log)
				}
			}
			if strings.Contains(log.String(), "canary") {
				t.Errorf("the log quotes a header: %s", log)
			}
		})
	}
}

// Source: W3C Trace Context, section 3.2.2.5.1: the flag sampled.
func TestCallerDecidesOnSampling(t *testing.T) {
	tests := []struct {
		name   string
		own    sdktrace.Sampler
		parent string
		want   int
	}{
		{"caller does", sdktrace.NeverSample(), sampled, 1},
		{"caller does not", sdktrace.AlwaysSample(), strings.TrimSuffix(sampled, "1") + "0", 0},
		{"no caller, we do", sdktrace.AlwaysSample(), "", 1},
		{"no caller, we do not", sdktrace.NeverSample(), "", 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			watch, registry, log := watching()
			var collector opstest.Collector
			watch.Trace(collector.Provider(t, sdktrace.WithSampler(sdktrace.ParentBased(tt.own))))
			_, call := watch.Begin(watch.JoinHTTP(t.Context(), http.Header{"Traceparent": {tt.parent}}), HTTP, "id", "route")
			call.Enter(Decode)
			watch.EndHTTP(call, http.MethodPost, 200)
			if got := len(collector.Spans()); got != 2*tt.want {
				t.Errorf("%d spans, want %d", got, 2*tt.want)
			}
			if !strings.Contains(log.String(), `"trace_id":"`) {
				t.Errorf("the log names no trace, which others may have sampled: %s", log)
			}
			// One by the route, one by the door.
			if got := strings.Count(openMetrics(t, registry), `# {trace_id="`); got != 2*tt.want {
				t.Errorf("%d exemplars, want %d", got, 2*tt.want)
			}
		})
	}
}

// openMetrics is what /metrics says to a scraper that asks for OpenMetrics, the
// format that has exemplars.
func openMetrics(t *testing.T, registry *prometheus.Registry) string {
	t.Helper()
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/metrics", nil)
	r.Header.Set("Accept", "application/openmetrics-text;version=1.0.0")
	w := httptest.NewRecorder()
	Admin(registry, NewHealth()).ServeHTTP(w, r)
	if got := w.Header().Get("Content-Type"); !strings.HasPrefix(got, "application/openmetrics-text") {
		t.Fatalf("Content-Type %s, want OpenMetrics", got)
	}
	return w.Body.String()
}

func TestSpansOfACall(t *testing.T) {
	watch, collector, _ := tracing(t)
	ctx, stream := watch.Begin(t.Context(), GRPC, "visit-17", "/some.Service/Chat")
	_, call := watch.Begin(ctx, Stream, "visit-17.1", stream.Operation)
	call.Client = "record"
	for _, stage := range []Stage{Decode, Intake, Assess, Record, Documents, Encode} {
		call.Enter(stage)
	}
	call.Leave()
	call.Assessed("p|1", &readiness.Readiness{Overall: readiness.LimitedByPain}, 12, []fault.Issue{
		{Severity: fault.Warning, Kind: fault.UnitAlias, Path: "canary", Detail: "canary", Diagnostic: "canary"},
		{Severity: fault.Warning, Kind: fault.UnitAlias},
	})
	watch.End(call, codes.OK)
	watch.End(stream, codes.Canceled)

	spans := collector.Spans()
	var names []string
	for _, span := range spans {
		names = append(names, span.GetName())
	}
	want := []string{"decode", "intake", "assess", "record", "documents", "encode", "some.Service/Chat request", "some.Service/Chat"}
	if !slices.Equal(names, want) {
		t.Fatalf("spans %q, want %q", names, want)
	}
	inner, outer := spans[6], spans[7]
	for _, stage := range spans[:6] {
		if !bytes.Equal(stage.GetParentSpanId(), inner.GetSpanId()) || stage.GetKind() != tracepb.Span_SPAN_KIND_INTERNAL {
			t.Errorf("%s is not within the request", stage.GetName())
		}
	}
	if !bytes.Equal(inner.GetParentSpanId(), outer.GetSpanId()) || outer.GetParentSpanId() != nil {
		t.Error("the request is not within the stream, or the stream within something")
	}
	attributes := opstest.Attributes(inner)
	for name, want := range map[string]string{
		"rpc.system.name": "grpc", "rpc.method": "some.Service/Chat", "rpc.response.status_code": "OK",
		"evenreach.door": "stream", "evenreach.client_id": "record", "evenreach.protocol": "p|1",
		"evenreach.measurements": "int_value:12", "evenreach.issue_count": "int_value:2",
		"evenreach.issues": `array_value:{values:{string_value:"warning unit-alias"}}`,
	} {
		if got := strings.ReplaceAll(attributes[name], " ", ""); got != strings.ReplaceAll(want, " ", "") {
			t.Errorf("%s is %s, want %s", name, got, want)
		}
		delete(attributes, name)
	}
	if len(attributes) > 0 {
		t.Errorf("the span has also %v", attributes)
	}
	for _, secret := range []string{"limited-by-pain", "visit-17", "canary"} {
		if strings.Contains(collector.String(), secret) {
			t.Errorf("the spans say %s", secret)
		}
	}
}

func TestRefusalsInSpans(t *testing.T) {
	tests := []struct {
		kind   fault.Kind
		status tracepb.Status_StatusCode
	}{
		{fault.Syntax, tracepb.Status_STATUS_CODE_UNSET}, // the caller's; OpenTelemetry, HTTP spans: 4xx is no error of a server
		{fault.Internal, tracepb.Status_STATUS_CODE_ERROR},
		{fault.Unavailable, tracepb.Status_STATUS_CODE_ERROR},
		{fault.Timeout, tracepb.Status_STATUS_CODE_ERROR},
	}
	for _, tt := range tests {
		watch, collector, _ := tracing(t)
		_, call := watch.Begin(t.Context(), HTTP, "id", "route")
		call.Denied = "expired"
		call.Enter(Decode)
		call.Enter(Intake)
		call.Refused(fault.Refuse(tt.kind, "canary", "canary"))
		watch.EndHTTP(call, http.MethodPost, 500)
		spans := collector.Spans()
		if len(spans) != 3 || spans[0].GetStatus().GetCode() != tracepb.Status_STATUS_CODE_UNSET {
			t.Fatalf("%d spans, want 3, and no error in the stage that went well", len(spans))
		}
		for _, span := range spans[1:] {
			kind := opstest.Attributes(span)["evenreach.refusal"]
			if span.GetStatus().GetCode() != tt.status || kind != tt.kind.String() {
				t.Errorf("%s: %v of kind %q, want %v of %v", span.GetName(), span.GetStatus(), kind, tt.status, tt.kind)
			}
		}
		attributes := opstest.Attributes(spans[2])
		if attributes["evenreach.denied"] != "expired" || attributes["http.route"] != "route" || attributes["http.request.method"] != "POST" {
			t.Errorf("the span has %v", attributes)
		}
		if strings.Contains(collector.String(), "canary") {
			t.Errorf("the spans quote a refusal: %s", collector)
		}
	}
}

func TestNoTracesCostNothing(t *testing.T) {
	watch, _, log := watching()
	headers := http.Header{"Traceparent": {sampled}}
	ctx := metadata.NewIncomingContext(context.Background(), metadata.Pairs("traceparent", sampled))
	call := &Call{}
	allocations := testing.AllocsPerRun(100, func() {
		if watch.JoinHTTP(ctx, headers) != ctx || watch.JoinGRPC(ctx) != ctx || watch.beginSpan(ctx, call) != ctx {
			t.Error("a context has changed")
		}
		call.Enter(Decode)
		call.Leave()
		call.endRPC(codes.OK)
		call.endHTTP(http.MethodPost, 200)
	})
	if allocations != 0 {
		t.Errorf("%v allocations, want none", allocations)
	}
	_, call = watch.Begin(ctx, HTTP, "id", "route")
	watch.EndHTTP(call, http.MethodPost, 200)
	if strings.Contains(log.String(), "trace_id") {
		t.Errorf("the log names a trace: %s", log)
	}
}
