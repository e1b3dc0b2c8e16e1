package ops

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"runtime"
	"strconv"
	"time"

	grpcprom "github.com/grpc-ecosystem/go-grpc-middleware/providers/prometheus"
	"go.opentelemetry.io/otel/trace"
	"google.golang.org/grpc/codes"

	"evenreach.example/internal/fault"
)

// NewLogger returns a logger that writes JSON, one object a line.
func NewLogger(w io.Writer, level slog.Level) *slog.Logger {
	return slog.New(slog.NewJSONHandler(w, &slog.HandlerOptions{Level: level}))
}

// Watch records every request: as a line of the log, in the metrics and, after a
// call of Trace, as spans.
type Watch struct {
	metrics *Metrics
	log     *slog.Logger
	tracer  trace.Tracer // nil if traces are off

	peers     peers
	strangers *strangers
}

// NewWatch returns a Watch whose log names no addresses.
func NewWatch(metrics *Metrics, log *slog.Logger) *Watch {
	return &Watch{metrics: metrics, log: log, strangers: &strangers{log: log, left: strangerLines, since: time.Now()}}
}

// LogPeers makes the log name the addresses that requests come from. It is to be called
// before the first call.
func (w *Watch) LogPeers(way PeerLog) { w.peers = newPeers(way) }

// Close writes what of the log waits to be added up.
func (w *Watch) Close() { w.strangers.write() }

// GRPCMetrics counts and times the RPCs of a gRPC server, by its interceptors.
func (w *Watch) GRPCMetrics() *grpcprom.ServerMetrics { return w.metrics.grpc }

// Begin begins a call. The operation may be named later.
func (w *Watch) Begin(ctx context.Context, door Door, id, operation string) (context.Context, *Call) {
	c := &Call{ID: id, Door: door, Operation: operation, start: time.Now()}
	w.metrics.inFlight.WithLabelValues(string(door)).Inc()
	return context.WithValue(w.beginSpan(ctx, c), callKey{}, c), c
}

// End records a call that came in by gRPC.
func (w *Watch) End(c *Call, code codes.Code) {
	c.endRPC(code)
	w.end(c, slog.String("code", code.String()))
}

// EndHTTP records a call that came in by HTTP.
func (w *Watch) EndHTTP(c *Call, method string, status int) {
	method = closed(method)
	c.endHTTP(method, status)
	w.metrics.httpRequests.WithLabelValues(c.Operation, method, strconv.Itoa(status)).Inc()
	c.observe(w.metrics.httpDuration.WithLabelValues(c.Operation), time.Since(c.start).Seconds())
	w.end(c, slog.String("method", method), slog.Int("status", status))
}

func (w *Watch) end(c *Call, result ...slog.Attr) {
	elapsed := time.Since(c.start).Seconds()
	w.metrics.inFlight.WithLabelValues(string(c.Door)).Dec()
	if !c.aside {
		c.observe(w.metrics.duration.WithLabelValues(string(c.Door)), elapsed)
	}
	w.metrics.clients.answered(c, elapsed)
	w.metrics.tenants.answered(c, elapsed)
	w.count(c)
	peer := w.peers.name(c)
	if c.isStranger() && !w.strangers.take(stranger{peer, c.Client, c.Denied, c.Operation}, time.Now()) {
		return
	}

	attrs := append(result,
		slog.String("request_id", c.ID),
		slog.String("door", string(c.Door)),
		slog.String("operation", c.Operation),
		slog.Float64("duration_seconds", elapsed))
	if c.span != nil {
		span := c.span.SpanContext()
		attrs = append(attrs, slog.String("trace_id", span.TraceID().String()), slog.String("span_id", span.SpanID().String()))
	}
	if peer != "" {
		attrs = append(attrs, slog.String("peer", peer))
	}
	if c.Client != "" {
		attrs = append(attrs, slog.String("client_id", c.Client))
	}
	if c.Tenant != "" {
		attrs = append(attrs, slog.String("tenant", c.Tenant))
	}
	if c.Denied != "" {
		attrs = append(attrs, slog.String("denied", c.Denied))
	}
	if c.protocol != "" {
		attrs = append(attrs, slog.String("protocol", c.protocol), slog.Int("measurements", c.used))
	}
	if len(c.issues) > 0 {
		attrs = append(attrs, slog.Any("issues", tally(c.issues)))
	}
	w.log.LogAttrs(context.Background(), c.level(), "request", attrs...)
}

// isStranger reports whether a call is one of those that need no token, or have none that
// counts.
func (c *Call) isStranger() bool { return c.Denied != "" || c.aside && c.Client == "" }

// count counts what was found.
func (w *Watch) count(c *Call) {
	if c.found != nil {
		w.metrics.countFound(c.found)
	}
	if c.decided != "" {
		w.metrics.refusals.WithLabelValues(c.decided).Inc()
	}
	for i := range c.issues {
		w.metrics.issues.WithLabelValues(c.issues[i].Kind.String(), c.issues[i].Severity.String()).Inc()
	}
}

// level is Error for our defects, and Warn if the operator has to see to it.
func (c *Call) level() slog.Level {
	switch c.decided {
	case fault.Internal.String():
		return slog.LevelError
	case fault.Unavailable.String(), fault.Timeout.String():
		return slog.LevelWarn
	}
	return slog.LevelInfo
}

// tally counts issues by severity and kind.
func tally(issues []fault.Issue) map[string]int {
	counts := make(map[string]int)
	for i := range issues {
		counts[issues[i].Severity.String()+" "+issues[i].Kind.String()]++
	}
	return counts
}

// closed keeps the methods to a closed list, for a caller may invent one.
func closed(method string) string {
	switch method {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch,
		http.MethodDelete, http.MethodConnect, http.MethodOptions, http.MethodTrace:
		return method
	}
	return "other"
}

// Defect logs an error that the caller did not cause. Only a refusal's text is known
// to hold nothing of the input; of any other error the type alone is logged.
func (w *Watch) Defect(ctx context.Context, err error) {
	text := fmt.Sprintf("%T", err)
	if refusal, ok := errors.AsType[*fault.Errors](err); ok {
		text = refusal.Error()
	}
	w.log.LogAttrs(ctx, slog.LevelError, "defect",
		slog.String("request_id", CallFrom(ctx).ID),
		slog.String("error", text))
}

// Panicked logs a panic that was caught while a request was answered. The value
// of a panic may quote the input, so only its type is logged, with the stack.
func (w *Watch) Panicked(ctx context.Context, value any) {
	text := fmt.Sprintf("%T", value)
	if err, ok := value.(runtime.Error); ok {
		text = err.Error() // of the runtime: an index, a nil pointer
	}
	w.log.LogAttrs(ctx, slog.LevelError, "panic",
		slog.String("request_id", CallFrom(ctx).ID),
		slog.String("panic", text),
		slog.Any("stack", frames()))
}

// frames lists the functions that were running, without their arguments.
func frames() (stack []string) {
	pcs := make([]uintptr, 64)
	found := runtime.CallersFrames(pcs[:runtime.Callers(3, pcs)])
	for {
		frame, more := found.Next()
		stack = append(stack, fmt.Sprintf("%s:%d", frame.Function, frame.Line))
		if !more {
			return stack
		}
	}
}
