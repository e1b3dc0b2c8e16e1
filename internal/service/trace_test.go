package service

import (
	"encoding/hex"
	"net/http"
	"slices"
	"testing"

	tracepb "go.opentelemetry.io/proto/otlp/trace/v1"
	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc/metadata"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/ops/opstest"
)

// A caller's trace, from the example of W3C Trace Context, section 3.2.3.
const (
	callersTrace  = "4bf92f3577b34da6a3ce929d0e0e4736"
	callersSpan   = "00f067aa0ba902b7"
	callersParent = "00-" + callersTrace + "-" + callersSpan + "-01"
)

// within are the names of the spans that are directly within another.
func (h *harness) within(parent string) (names []string) {
	for _, span := range h.traces.Spans() {
		if hex.EncodeToString(span.GetParentSpanId()) == parent {
			names = append(names, span.GetName())
		}
	}
	return names
}

// span is the one of a name, which must be part of the caller's trace.
func (h *harness) span(name string) *tracepb.Span {
	h.t.Helper()
	spans := h.traces.Spans()
	i := slices.IndexFunc(spans, func(s *tracepb.Span) bool { return s.GetName() == name })
	if i < 0 {
		h.t.Fatalf("no span %s", name)
	}
	if got := hex.EncodeToString(spans[i].GetTraceId()); got != callersTrace {
		h.t.Errorf("%s is of the trace %s, want the caller's %s", name, got, callersTrace)
	}
	return spans[i]
}

func (h *harness) wantWithin(parent string, want ...string) {
	h.t.Helper()
	if got := h.within(parent); !slices.Equal(got, want) {
		h.t.Errorf("spans %q, want %q", got, want)
	}
}

func TestTraceOfEachDoor(t *testing.T) {
	stages := []string{"decode", "intake", "assess", "record", "encode"}
	message := &evenreachv1.AssessRequest{Bundle: message(t, text(t, good()))}
	doors := []struct {
		name string
		ask  func(*harness)
	}{
		{"POST " + operationPath, func(h *harness) {
			if w := h.do(request(text(t, good()), "Traceparent", callersParent)); w.Code != http.StatusOK {
				t.Errorf("status %d", w.Code)
			}
		}},
		{"evenreach.v1.AssessmentService/AssessJSON", func(h *harness) {
			ctx := metadata.AppendToOutgoingContext(t.Context(), "traceparent", callersParent)
			if _, err := h.dial().AssessJSON(ctx, &httpbody.HttpBody{Data: []byte(text(t, good()))}); err != nil {
				t.Error(err)
			}
		}},
		{"evenreach.v1.AssessmentService/Assess", func(h *harness) {
			ctx := metadata.AppendToOutgoingContext(t.Context(), "traceparent", callersParent)
			if _, err := h.dial().Assess(ctx, message); err != nil {
				t.Error(err)
			}
		}},
	}
	for _, door := range doors {
		t.Run(door.name, func(t *testing.T) {
			h := start(t)
			door.ask(h)
			h.wantWithin(callersSpan, door.name)
			span := h.span(door.name)
			h.wantWithin(hex.EncodeToString(span.GetSpanId()), stages...)
			if got := opstest.Attributes(span)["evenreach.protocol"]; got != "evenreach-default|2.0.0" {
				t.Errorf("the protocol is %q", got)
			}
		})
	}
}

func TestTraceOfAStream(t *testing.T) {
	h := start(t)
	ctx := metadata.AppendToOutgoingContext(t.Context(), "traceparent", callersParent)
	stream, err := h.dial().AssessStream(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []*evenreachv1.AssessRequest{{Bundle: message(t, text(t, good()))}, nil} {
		if err := stream.Send(&evenreachv1.AssessStreamRequest{Request: r}); err != nil {
			t.Fatal(err)
		}
		if _, err := stream.Recv(); err != nil {
			t.Fatal(err)
		}
	}
	if err := stream.CloseSend(); err != nil {
		t.Fatal(err)
	}
	if _, err := stream.Recv(); err == nil {
		t.Fatal("the stream goes on")
	}
	const name = "evenreach.v1.AssessmentService/AssessStream"
	h.wantWithin(callersSpan, name)
	h.wantWithin(hex.EncodeToString(h.span(name).GetSpanId()), name+" request", name+" request")
	h.wantWithin(hex.EncodeToString(h.span(name+" request").GetSpanId()), "decode", "intake", "assess", "record", "encode")
}

func TestTraceEndsWhereTheRequestIsRefused(t *testing.T) {
	h := start(t)
	h.do(request(text(t, good(patient("p2"))), "Traceparent", callersParent))
	span := h.span("POST " + operationPath)
	h.wantWithin(hex.EncodeToString(span.GetSpanId()), "decode", "intake")
	for _, s := range []*tracepb.Span{span, h.span("intake")} {
		if got := opstest.Attributes(s)["evenreach.refusal"]; got != "several-patients" {
			t.Errorf("%s: the refusal is %q", s.GetName(), got)
		}
	}
}
