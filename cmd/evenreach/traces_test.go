package main

import (
	"context"
	"encoding/hex"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/proto"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/fhirproto"
	"evenreach.example/internal/ops/opstest"
	"evenreach.example/internal/program"
)

// A trace for each door, and one that is not sampled.
var callersTraces = map[string]string{
	"rest":    "4bf92f3577b34da6a3ce929d0e0e4701",
	"grpc":    "4bf92f3577b34da6a3ce929d0e0e4702",
	"stream":  "4bf92f3577b34da6a3ce929d0e0e4703",
	"skipped": "4bf92f3577b34da6a3ce929d0e0e4704",
}

func traceparent(door string) string {
	flags := "01"
	if door == "skipped" {
		flags = "00"
	}
	return "00-" + callersTraces[door] + "-00f067aa0ba902b7-" + flags
}

// ask asks at all doors, each in a trace of its own, and tells of each door
// after its answer.
func (p *process) ask(answered func(door string)) {
	p.t.Helper()
	for _, door := range []string{"rest", "skipped"} {
		r, err := http.NewRequestWithContext(p.t.Context(), http.MethodPost, "http://"+p.HTTP+"/fhir/$assess-shoulder", strings.NewReader(string(scenario(p.t))))
		if err != nil {
			p.t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/fhir+json")
		r.Header.Set("traceparent", traceparent(door))
		answer, err := p.client.Do(r)
		if err != nil {
			p.t.Fatal(err)
		}
		_, _ = io.Copy(io.Discard, answer.Body)
		_ = answer.Body.Close()
		if answer.StatusCode != http.StatusOK {
			p.t.Errorf("%s: status %d, want 200", door, answer.StatusCode)
		}
		answered(door)
	}
	conn, err := grpc.NewClient(p.GRPC, grpc.WithTransportCredentials(insecure.NewCredentials()))
	if err != nil {
		p.t.Fatal(err)
	}
	defer conn.Close()
	client, message := evenreachv1.NewAssessmentServiceClient(conn), scenarioMessage(p.t)
	if _, err := client.Assess(metadata.AppendToOutgoingContext(p.t.Context(), "traceparent", traceparent("grpc")), message); err != nil {
		p.t.Error(err)
	}
	answered("grpc")
	stream, err := client.AssessStream(metadata.AppendToOutgoingContext(p.t.Context(), "traceparent", traceparent("stream")))
	if err != nil {
		p.t.Fatal(err)
	}
	if err := stream.Send(&evenreachv1.AssessStreamRequest{Request: message}); err != nil {
		p.t.Error(err)
	}
	if answer, err := stream.Recv(); err != nil || answer.GetAssessed() == nil {
		p.t.Errorf("stream: %v, %v", answer, err)
	}
	_ = stream.CloseSend()
	_, _ = stream.Recv()
	answered("stream")
}

// scenarioMessage is the scenario as protocol buffers.
func scenarioMessage(t *testing.T) *evenreachv1.AssessRequest {
	t.Helper()
	resource, err := fhirjson.Decode(scenario(t), fhir.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	written, err := fhirproto.Append(nil, resource.(*fhir.Bundle))
	if err != nil {
		t.Fatal(err)
	}
	bundle := new(bcrpb.Bundle)
	if err := proto.Unmarshal(written, bundle); err != nil {
		t.Fatal(err)
	}
	return &evenreachv1.AssessRequest{Bundle: bundle}
}

// exemplars is /metrics in OpenMetrics.
func (p *process) exemplars() string {
	p.t.Helper()
	_, body := p.getAs("/metrics", "application/openmetrics-text;version=1.0.0")
	return body
}

// hasExemplar reports whether an exemplar has the trace of the latest answer. It
// may come a moment after the answer; a later answer that takes as long takes
// its place.
func (p *process) hasExemplar(door string) bool {
	p.t.Helper()
	for range 100 {
		if strings.Contains(p.exemplars(), `{trace_id="`+callersTraces[door]+`"}`) {
			return true
		}
		time.Sleep(time.Millisecond)
	}
	return false
}

// tracesInLog are the traces of the requests in the rest of the log.
func tracesInLog(lines <-chan string) map[string]int {
	found := map[string]int{}
	for text := range lines {
		var line struct {
			Msg     string
			TraceID string `json:"trace_id"`
		}
		if json.Unmarshal([]byte(text), &line) == nil && line.Msg == "request" {
			found[line.TraceID]++
		}
	}
	return found
}

// The spans of the last requests leave with the drain.
func TestTracesReachTheCollector(t *testing.T) {
	var collector opstest.Collector
	p := launch(t, "--traces-endpoint=http://"+collector.Listen(t), "--drain-delay=0s")
	exemplary := map[string]bool{}
	p.ask(func(door string) { exemplary[door] = p.hasExemplar(door) })
	p.terminate()
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
	spans := map[string]int{}
	for _, span := range collector.Spans() {
		spans[hex.EncodeToString(span.GetTraceId())]++
	}
	lines := tracesInLog(p.lines)
	// The request and its five stages; for the stream also the stream itself.
	for door, want := range map[string]int{"rest": 6, "grpc": 6, "stream": 7, "skipped": 0} {
		trace := callersTraces[door]
		if spans[trace] != want {
			t.Errorf("%s: %d spans, want %d", door, spans[trace], want)
		}
		if lines[trace] == 0 {
			t.Errorf("%s: no line of the log has its trace", door)
		}
		if got := exemplary[door]; got != (want > 0) {
			t.Errorf("%s: an exemplar has its trace: %v", door, got)
		}
	}
}

func TestWithoutACollectorThereAreNoTraces(t *testing.T) {
	p := launch(t, "--drain-delay=0s")
	p.ask(func(string) {})
	metrics := p.exemplars()
	p.terminate()
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
	if lines := tracesInLog(p.lines); len(lines) != 1 || lines[""] != 5 {
		t.Errorf("lines by trace: %v, want 5 without one", lines)
	}
	if strings.Contains(metrics, "trace_id") {
		t.Error("/metrics has exemplars")
	}
}

// Source: OpenTelemetry, OTLP exporter configuration: https is TLS, by the
// authorities of the file.
func TestTracesByTLS(t *testing.T) {
	cert, _, _, pair := certificate(t)
	var collector opstest.Collector
	address := collector.Listen(t, grpc.Creds(credentials.NewServerTLSFromCert(&pair)))
	t.Setenv("OTEL_EXPORTER_OTLP_ENDPOINT", "https://"+address)
	t.Setenv("OTEL_EXPORTER_OTLP_CERTIFICATE", cert)
	p := launch(t, "--drain-delay=0s")
	p.ask(func(string) {})
	p.terminate()
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
	if len(collector.Spans()) == 0 {
		t.Error("no span came")
	}
}

// A collector that refuses connections, or takes them and never answers, is
// told of in the log; requests and drain go on as ever.
func TestCollectorInTrouble(t *testing.T) {
	down, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	_ = down.Close()
	hanging := opstest.Collector{Before: func(ctx context.Context) error {
		<-ctx.Done()
		return ctx.Err()
	}}
	for name, endpoint := range map[string]string{"down": down.Addr().String(), "hanging": hanging.Listen(t)} {
		t.Run(name, func(t *testing.T) {
			p := launch(t, "--traces-endpoint=http://"+endpoint, "--drain-delay=0s", "--drain-timeout=500ms")
			p.ask(func(string) {})
			p.terminate()
			p.waitFor("the last traces were not sent")
			p.waitFor("stopped")
			if code := <-p.exit; code != program.OK {
				t.Errorf("exit code %d, want 0", code)
			}
		})
	}
}
