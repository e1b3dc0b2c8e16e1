package ops

import (
	"context"
	"log/slog"
	"time"

	"go.opentelemetry.io/otel/exporters/otlp/otlptrace/otlptracegrpc"
	"go.opentelemetry.io/otel/sdk/resource"
	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	semconv "go.opentelemetry.io/otel/semconv/v1.43.0"
	"go.opentelemetry.io/otel/trace"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
)

// TraceConfig says where traces are sent, and which. What OpenTelemetry has
// further variables for, the SDK reads itself.
type TraceConfig struct {
	Endpoint string // URL of a collector that takes OTLP by gRPC
	Sampler  sdktrace.Sampler
}

// Traces sends traces to a collector. Spans wait in a queue of bounded length;
// those that find it full are dropped, so that no request waits for it.
type Traces struct {
	provider *sdktrace.TracerProvider
	exporter sdktrace.SpanExporter
	log      *slog.Logger
}

// NewTraces begins to send traces. A collector that is down is no error: it may
// come later. Version is that of the software.
func NewTraces(c TraceConfig, version string, log *slog.Logger) (*Traces, error) {
	ctx := context.Background()
	about, err := resource.New(ctx,
		resource.WithTelemetrySDK(),
		resource.WithAttributes(semconv.ServiceName("evenreach"), semconv.ServiceVersion(version)),
		resource.WithFromEnv()) // takes precedence
	if err != nil {
		return nil, err
	}
	exporter, err := otlptracegrpc.New(ctx, otlptracegrpc.WithEndpointURL(c.Endpoint))
	if err != nil {
		return nil, err
	}
	provider := sdktrace.NewTracerProvider(
		sdktrace.WithResource(about),
		sdktrace.WithSampler(c.Sampler),
		sdktrace.WithBatcher(&reporter{SpanExporter: exporter, log: log}))
	return &Traces{provider, exporter, log}, nil
}

// Provider is what Watch.Trace takes.
func (t *Traces) Provider() trace.TracerProvider { return t.provider }

// flushFor bounds how long the end of the process waits for a collector that hangs:
// as long as a batch waits at most, by the default of OTEL_BSP_SCHEDULE_DELAY.
const flushFor = 5 * time.Second

// Close sends what is left, within a few seconds and while the context lasts.
func (t *Traces) Close(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, flushFor)
	defer cancel()
	if err := t.provider.Shutdown(ctx); err != nil {
		t.log.Warn("the last traces were not sent", "reason", reason(err))
		_ = t.exporter.Shutdown(ctx) // ends the attempt that is under way
	}
}

// reportEvery is the least time between two lines about a collector.
const reportEvery = time.Minute

// A reporter logs that a collector did not take spans, at most once in reportEvery:
// a collector that is down must not fill the log.
type reporter struct {
	sdktrace.SpanExporter
	log  *slog.Logger
	lost int // spans since the last line
	next time.Time
}

// ExportSpans exports spans. It is called by one goroutine at a time. An error
// goes no further, for the SDK would write its text to the standard error
// stream.
func (r *reporter) ExportSpans(ctx context.Context, spans []sdktrace.ReadOnlySpan) error {
	err := r.SpanExporter.ExportSpans(ctx, spans)
	if err == nil {
		return nil
	}
	r.lost += len(spans)
	if now := time.Now(); !now.Before(r.next) {
		r.log.Warn("the collector did not take traces", "spans", r.lost, "reason", reason(err))
		r.lost, r.next = 0, now.Add(reportEvery)
	}
	return nil
}

// reason is the code of an error of gRPC or of a context. The error's text comes from
// the collector and may hold what must not be logged.
func reason(err error) string {
	if code := status.Code(err); code != codes.Unknown {
		return code.String()
	}
	return status.FromContextError(err).Code().String()
}
