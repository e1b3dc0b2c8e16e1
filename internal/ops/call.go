package ops

import (
	"context"
	"time"

	"go.opentelemetry.io/otel/trace"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/readiness"
)

// Door is the interface through which a request came in. Metrics, logs and traces
// call it "door".
type Door string

// The doors.
const (
	HTTP   Door = "http"
	GRPC   Door = "grpc"
	Stream Door = "stream" // one request of a stream
	MLLP   Door = "mllp"
	Queue  Door = "queue" // an assessment that a notification led to
	Batch  Door = "batch" // one request of a batch
)

var doors = [...]Door{HTTP, GRPC, Stream, MLLP, Queue, Batch}

// A Call collects what is logged, counted and traced about one request. It is filled
// while the request is answered, by one goroutine at a time, and holds nothing that
// names a patient.
type Call struct {
	ID        string // of the request, echoed to the caller
	Door      Door
	Operation string // route template, or method of gRPC
	Client    string // id of the client that asks; empty before it is known
	Tenant    string // the configured name of the tenant; empty where there are none
	Person    string // for whom the client asks, if its token says so: for the audit trail alone, never logged
	MayStore  bool   // the client may have an answer stored in the configured record
	Denied    string // why its token was refused; empty if it was not
	Peer      string // host:port of the other end of the connection

	aside    bool // nothing was to be assessed
	protocol string
	found    *readiness.Readiness // nil if nothing was assessed
	used     int
	issues   []fault.Issue
	decided  string // the kind that decided a refusal
	start    time.Time

	tracer trace.Tracer
	span   trace.Span // nil if traces are off
	stage  trace.Span // of the present stage; nil if there is none
}

// Assessed notes an assessment: the protocol it was made by, what was found, the
// number of measurements used and the issues of the input. Only the codes of what was
// found are logged and counted.
func (c *Call) Assessed(protocol string, found *readiness.Readiness, used int, issues []fault.Issue) {
	c.Read(protocol, used, issues)
	c.found = found
}

// Read notes that an input was read and nothing assessed.
func (c *Call) Read(protocol string, used int, issues []fault.Issue) {
	c.protocol, c.used, c.issues = protocol, used, issues
}

// Refused notes a refusal, in the span of the present stage if there is one.
func (c *Call) Refused(e *fault.Errors) {
	c.decided, c.issues = e.Kind().String(), e.Issues
	c.Leave()
}

// Gone notes that the caller hung up before its answer was ready, which is no failure of
// the service.
func (c *Call) Gone() {
	c.decided, c.issues = hungUp, nil
	c.Leave()
}

// hungUp is the outcome of a call whose caller hung up, among the kinds of refusals.
const hungUp = "canceled"

// Aside names the operation of a call that is no assessment, such as a probe of the
// CapabilityStatement. Among the assessments it does not count: many quick probes would
// hide that all of those fail.
func (c *Call) Aside(operation string) { c.Operation, c.aside = operation, true }

type callKey struct{}

// CallFrom returns the call of a request that Begin began; for any other
// context a Call that is never logged.
func CallFrom(ctx context.Context) *Call {
	if c, ok := ctx.Value(callKey{}).(*Call); ok {
		return c
	}
	return &Call{}
}
