package ops

import (
	"context"
	"log/slog"
	"maps"
	"net/http"
	"slices"
	"strings"

	"github.com/prometheus/client_golang/prometheus"
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/propagation"
	semconv "go.opentelemetry.io/otel/semconv/v1.43.0"
	"go.opentelemetry.io/otel/trace"
	"google.golang.org/genproto/googleapis/rpc/code"
	grpccodes "google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
)

// A Stage is a part of the work on a request: a span within that of its call.
type Stage string

// The stages, in their order.
const (
	Fetch     Stage = "fetch" // from the configured record
	Decode    Stage = "decode"
	Intake    Stage = "intake"
	Assess    Stage = "assess"
	Record    Stage = "record"
	Documents Stage = "documents"
	Encode    Stage = "encode"
	Store     Stage = "store" // in the configured record
)

// Our own attributes of spans. The overall status is not among them: a span
// belongs to one patient's request, where the metrics only count.
const (
	doorKey         = attribute.Key("evenreach.door")
	clientKey       = attribute.Key("evenreach.client_id")
	deniedKey       = attribute.Key("evenreach.denied")
	tenantKey       = attribute.Key("evenreach.tenant")
	refusalKey      = attribute.Key("evenreach.refusal")
	protocolKey     = attribute.Key("evenreach.protocol")
	measurementsKey = attribute.Key("evenreach.measurements")
	issueCountKey   = attribute.Key("evenreach.issue_count")
	issuesKey       = attribute.Key("evenreach.issues")
)

// Trace makes the Watch record a span for each call. It is to be called before the
// first call. Without it tracing costs nothing.
func (w *Watch) Trace(provider trace.TracerProvider) {
	w.tracer = provider.Tracer("evenreach.example/internal/ops", trace.WithSchemaURL(semconv.SchemaURL))
}

// JoinHTTP gives a context the trace of the caller, if the headers name one.
func (w *Watch) JoinHTTP(ctx context.Context, h http.Header) context.Context {
	if w.tracer == nil {
		return ctx
	}
	return propagation.TraceContext{}.Extract(ctx, carrier(h.Values))
}

// JoinGRPC gives the context of an RPC the trace of the caller, if the metadata
// name one.
func (w *Watch) JoinGRPC(ctx context.Context) context.Context {
	if w.tracer == nil {
		return ctx
	}
	return propagation.TraceContext{}.Extract(ctx, carrier(func(name string) []string {
		return metadata.ValueFromIncomingContext(ctx, name)
	}))
}

// A carrier gives the values of a header. Several of tracestate are one list;
// several of traceparent make none that is valid (W3C Trace Context, sections
// 3.2 and 3.3).
type carrier func(name string) []string

// Get gives the value of a header.
func (c carrier) Get(name string) string { return strings.Join(c(name), ",") }

// Set is not called: nothing is sent on.
func (c carrier) Set(string, string) {}

// Keys is not called.
func (c carrier) Keys() []string { return nil }

// beginSpan begins the span of a call, if there is to be one.
func (w *Watch) beginSpan(ctx context.Context, c *Call) context.Context {
	if w.tracer == nil {
		return ctx
	}
	c.tracer = w.tracer
	ctx, c.span = w.tracer.Start(ctx, string(c.Door), trace.WithSpanKind(trace.SpanKindServer), trace.WithTimestamp(c.start))
	return ctx
}

// Enter begins a stage of the call and ends the one before.
func (c *Call) Enter(stage Stage) {
	c.Leave()
	if c.span != nil && c.span.IsRecording() {
		_, c.stage = c.tracer.Start(trace.ContextWithSpan(context.Background(), c.span), string(stage))
	}
}

// Leave ends the present stage. The end of the call does so too.
func (c *Call) Leave() {
	if c.stage != nil {
		c.endSpan(c.stage)
		c.stage = nil
	}
}

// endRPC ends the spans of a call that came in by gRPC.
func (c *Call) endRPC(result grpccodes.Code) {
	if c.span == nil {
		return
	}
	method := strings.TrimPrefix(c.Operation, "/")
	name := method
	if c.Door == Stream {
		name += " request"
	}
	c.span.SetName(name)
	c.endCall(semconv.RPCSystemNameGRPC, semconv.RPCMethod(method), semconv.RPCResponseStatusCode(code.Code(result).String()))
}

// endHTTP ends the spans of a call that came in by HTTP.
func (c *Call) endHTTP(method string, status int) {
	if c.span == nil {
		return
	}
	c.span.SetName(method + " " + c.Operation)
	c.endCall(semconv.HTTPRequestMethodKey.String(method), semconv.HTTPRoute(c.Operation), semconv.HTTPResponseStatusCode(status))
}

// endMLLP ends the spans of a call that came in over MLLP.
func (c *Call) endMLLP(result string) {
	if c.span == nil {
		return
	}
	c.span.SetName(c.Operation)
	c.endCall(attribute.String("evenreach.acknowledgement", result))
}

// endQueue ends the spans of an assessment that a notification led to.
func (c *Call) endQueue(result string) {
	if c.span == nil {
		return
	}
	c.span.SetName(c.Operation)
	c.endCall(attribute.String("evenreach.result", result))
}

// endCall ends the spans of a call.
func (c *Call) endCall(result ...attribute.KeyValue) {
	c.Leave()
	if c.span.IsRecording() {
		c.span.SetAttributes(append(result, c.attributes()...)...)
	}
	c.endSpan(c.span)
}

// attributes are what a span records about its call.
func (c *Call) attributes() []attribute.KeyValue {
	attrs := []attribute.KeyValue{doorKey.String(string(c.Door))}
	if c.Client != "" {
		attrs = append(attrs, clientKey.String(c.Client))
	}
	if c.Tenant != "" {
		attrs = append(attrs, tenantKey.String(c.Tenant))
	}
	if c.Denied != "" {
		attrs = append(attrs, deniedKey.String(c.Denied))
	}
	if c.protocol != "" {
		attrs = append(attrs, protocolKey.String(c.protocol), measurementsKey.Int(c.used))
	}
	if len(c.issues) > 0 {
		attrs = append(attrs, issueCountKey.Int(len(c.issues)), issuesKey.StringSlice(slices.Sorted(maps.Keys(tally(c.issues)))))
	}
	return attrs
}

// endSpan ends a span. It records the kind of a refusal and never its text. The span
// is an error where the log has a warning or an error.
func (c *Call) endSpan(span trace.Span) {
	if c.decided != "" {
		span.SetAttributes(refusalKey.String(c.decided))
	}
	if c.level() > slog.LevelInfo {
		span.SetAttributes(semconv.ErrorTypeKey.String(c.decided))
		span.SetStatus(codes.Error, c.decided)
	}
	span.End()
}

// observe adds a time to a histogram, with the trace to look at as an exemplar.
func (c *Call) observe(histogram prometheus.Observer, seconds float64) {
	exemplary, ok := histogram.(prometheus.ExemplarObserver)
	if !ok || c.span == nil || !c.span.SpanContext().IsSampled() {
		histogram.Observe(seconds)
		return
	}
	exemplary.ObserveWithExemplar(seconds, prometheus.Labels{"trace_id": c.span.SpanContext().TraceID().String()})
}
