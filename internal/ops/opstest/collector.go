// Package opstest is a collector of traces for tests.
package opstest

import (
	"context"
	"net"
	"sync"
	"testing"

	"go.opentelemetry.io/otel/exporters/otlp/otlptrace"
	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	coltracepb "go.opentelemetry.io/proto/otlp/collector/trace/v1"
	tracepb "go.opentelemetry.io/proto/otlp/trace/v1"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/encoding/prototext"
)

// A Collector keeps the spans that it gets, by OTLP over gRPC from Listen or
// within the process from Provider.
type Collector struct {
	coltracepb.UnimplementedTraceServiceServer
	// Before, if there is one, is called before spans are taken; an error
	// refuses them.
	Before func(context.Context) error

	mu  sync.Mutex
	got []*tracepb.ResourceSpans
}

// Listen serves the collector on a free port and returns its address.
func (c *Collector) Listen(t testing.TB, options ...grpc.ServerOption) string {
	t.Helper()
	listener, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := grpc.NewServer(options...)
	coltracepb.RegisterTraceServiceServer(server, c)
	done := make(chan struct{})
	go func() {
		defer close(done)
		if err := server.Serve(listener); err != nil {
			t.Error(err)
		}
	}()
	t.Cleanup(func() {
		server.Stop()
		<-done
	})
	return listener.Addr().String()
}

// Provider traces everything unless the options say otherwise. A span is here
// as soon as it has ended.
func (c *Collector) Provider(t testing.TB, options ...sdktrace.TracerProviderOption) *sdktrace.TracerProvider {
	t.Helper()
	exporter, err := otlptrace.New(t.Context(), client{c})
	if err != nil {
		t.Fatal(err)
	}
	return sdktrace.NewTracerProvider(append(options, sdktrace.WithSyncer(exporter))...)
}

// Export takes spans.
func (c *Collector) Export(ctx context.Context, r *coltracepb.ExportTraceServiceRequest) (*coltracepb.ExportTraceServiceResponse, error) {
	if c.Before != nil {
		if err := c.Before(ctx); err != nil {
			return nil, err
		}
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.got = append(c.got, r.GetResourceSpans()...)
	return &coltracepb.ExportTraceServiceResponse{}, nil
}

// Spans are all the spans, in the order in which they ended.
func (c *Collector) Spans() (spans []*tracepb.Span) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, resource := range c.got {
		for _, scope := range resource.GetScopeSpans() {
			spans = append(spans, scope.GetSpans()...)
		}
	}
	return spans
}

// String is everything that came, as text.
func (c *Collector) String() string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return prototext.Format(&coltracepb.ExportTraceServiceRequest{ResourceSpans: c.got})
}

// client brings spans to a collector in the same process.
type client struct{ to *Collector }

func (client) Start(context.Context) error { return nil }
func (client) Stop(context.Context) error  { return nil }

func (c client) UploadTraces(ctx context.Context, spans []*tracepb.ResourceSpans) error {
	_, err := c.to.Export(ctx, &coltracepb.ExportTraceServiceRequest{ResourceSpans: spans})
	return err
}

// Attributes are those of a span, as text.
func Attributes(span *tracepb.Span) map[string]string {
	attributes := map[string]string{}
	for _, a := range span.GetAttributes() {
		text := a.GetValue().GetStringValue()
		if text == "" {
			text = prototext.MarshalOptions{}.Format(a.GetValue())
		}
		attributes[a.GetKey()] = text
	}
	return attributes
}
