package ops

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/trace"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"evenreach.example/internal/ops/opstest"
)

// sending sends all traces to an address.
func sending(t *testing.T, endpoint string) (*Traces, *opstest.Log) {
	t.Helper()
	log := &opstest.Log{}
	traces, err := NewTraces(TraceConfig{Endpoint: endpoint, Sampler: sdktrace.AlwaysSample()}, "1.2.3", NewLogger(log, slog.LevelInfo))
	if err != nil {
		t.Fatal(err)
	}
	return traces, log
}

// emit ends a number of spans.
func emit(provider trace.TracerProvider, n int) {
	for i := range n {
		_, span := provider.Tracer("test").Start(context.Background(), fmt.Sprintf("span %d", i))
		span.End()
	}
}

func TestTracesAreSentAtTheEnd(t *testing.T) {
	t.Setenv("OTEL_RESOURCE_ATTRIBUTES", "deployment.environment.name=trial,service.namespace=therapy%20ward")
	var collector opstest.Collector
	traces, log := sending(t, "http://"+collector.Listen(t))
	emit(traces.Provider(), 3)
	traces.Close(t.Context())
	if got := len(collector.Spans()); got != 3 {
		t.Errorf("%d spans, want 3", got)
	}
	for _, want := range []string{"service.name", `"evenreach"`, "service.version", `"1.2.3"`, "deployment.environment.name", `"trial"`, `"therapy ward"`} {
		if !strings.Contains(collector.String(), want) {
			t.Errorf("the resource does not say %s: %s", want, &collector)
		}
	}
	if log.String() != "" {
		t.Errorf("the log says %s", log)
	}
}

func TestServiceNameOfTheSite(t *testing.T) {
	t.Setenv("OTEL_SERVICE_NAME", "shoulders")
	var collector opstest.Collector
	traces, _ := sending(t, "http://"+collector.Listen(t))
	emit(traces.Provider(), 1)
	traces.Close(t.Context())
	if text := collector.String(); !strings.Contains(text, `"shoulders"`) || strings.Contains(text, `"evenreach"`) {
		t.Errorf("the service is not named shoulders: %s", text)
	}
}

func TestMalformedResourceIsRefused(t *testing.T) {
	t.Setenv("OTEL_RESOURCE_ATTRIBUTES", "ward")
	_, err := NewTraces(TraceConfig{Endpoint: "http://127.0.0.1:4317", Sampler: sdktrace.AlwaysSample()}, "", slog.New(slog.DiscardHandler))
	if err == nil {
		t.Error("NewTraces accepts an attribute without a value")
	}
}

// While a collector hangs no span waits for it, and no more are kept than the
// queue and the batch at hand can hold.
func TestHangingCollectorHoldsNothingUp(t *testing.T) {
	t.Setenv("OTEL_BSP_MAX_QUEUE_SIZE", "16")
	t.Setenv("OTEL_BSP_MAX_EXPORT_BATCH_SIZE", "4")
	begun, goOn := make(chan struct{}, 100), make(chan struct{})
	collector := opstest.Collector{Before: func(ctx context.Context) error {
		begun <- struct{}{}
		select {
		case <-goOn:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}}
	traces, _ := sending(t, "http://"+collector.Listen(t))
	emit(traces.Provider(), 4)
	<-begun // a batch is under way
	emit(traces.Provider(), 10_000)
	close(goOn)
	traces.Close(t.Context())
	if got := len(collector.Spans()); got < 4 || got > 4+16+4 {
		t.Errorf("%d of 10,004 spans were kept, want the 4 of the batch and up to 16 of the queue and another batch", got)
	}
}

// The log says that nothing was sent, and goleak that nothing goes on.
func TestCloseEndsInTime(t *testing.T) {
	begun := make(chan struct{}, 100)
	hanging := opstest.Collector{Before: func(ctx context.Context) error {
		begun <- struct{}{}
		<-ctx.Done()
		return ctx.Err()
	}}
	traces, log := sending(t, "http://"+hanging.Listen(t))
	emit(traces.Provider(), 1)
	ctx, cancel := context.WithCancel(t.Context())
	go func() {
		<-begun
		cancel() // the time to drain is over
	}()
	traces.Close(ctx)
	if !strings.Contains(log.String(), "the last traces were not sent") {
		t.Errorf("the log does not say that the last traces are lost: %s", log)
	}
}

func TestCollectorThatIsDown(t *testing.T) {
	listener, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := listener.Addr().String()
	if err := listener.Close(); err != nil {
		t.Fatal(err)
	}
	t.Setenv("OTEL_EXPORTER_OTLP_TIMEOUT", "50") // it would try for 10 s
	traces, log := sending(t, "http://"+address)
	emit(traces.Provider(), 2)
	traces.Close(t.Context())
	if text := log.String(); !strings.Contains(text, `"spans":2,"reason":"Unavailable"`) || strings.Contains(text, address) {
		t.Errorf("the log says %s, want 2 spans lost, Unavailable", text)
	}
}

// failing takes no spans.
type failing struct{ err error }

func (f failing) ExportSpans(context.Context, []sdktrace.ReadOnlySpan) error { return f.err }
func (f failing) Shutdown(context.Context) error                             { return nil }

func TestFailuresAreLoggedOnceAMinute(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		log := &bytes.Buffer{}
		r := &reporter{SpanExporter: failing{status.Error(codes.PermissionDenied, "canary")}, log: NewLogger(log, slog.LevelInfo)}
		for range 150 { // 2 and a half minutes
			if err := r.ExportSpans(t.Context(), make([]sdktrace.ReadOnlySpan, 2)); err != nil {
				t.Errorf("the error goes on to the SDK: %v", err)
			}
			time.Sleep(time.Second)
		}
		lines := strings.Split(strings.TrimSpace(log.String()), "\n")
		if len(lines) != 3 || !strings.Contains(lines[2], `"spans":120,"reason":"PermissionDenied"`) {
			t.Errorf("the log says %q, want 3 lines, the last of 120 spans", lines)
		}
		if strings.Contains(log.String(), "canary") {
			t.Errorf("the log quotes the collector: %s", log)
		}
	})
}

func TestReasons(t *testing.T) {
	tests := []struct {
		err  error
		want string
	}{
		{status.Error(codes.Unavailable, "canary"), "Unavailable"},
		{fmt.Errorf("max retry time elapsed: %w", status.Error(codes.ResourceExhausted, "canary")), "ResourceExhausted"},
		{errors.Join(context.DeadlineExceeded, errors.New("canary")), "DeadlineExceeded"},
		{errors.New("canary"), "Unknown"},
	}
	for _, tt := range tests {
		if got := reason(tt.err); got != tt.want {
			t.Errorf("the reason of %v is %s, want %s", tt.err, got, tt.want)
		}
	}
}
