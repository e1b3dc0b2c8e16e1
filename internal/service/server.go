package service

import (
	"cmp"
	"context"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	healthpb "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/keepalive"
	"google.golang.org/protobuf/proto"

	"evenreach.example/internal/audit"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/service/encoded"
	"evenreach.example/internal/worksheet"
)

// A Server is the AssessmentService, for gRPC and REST.
type Server struct {
	// A method that is missing does not compile.
	encoded.UnsafeAssessmentServiceServer

	config   Config
	current  atomic.Pointer[loaded]
	watch    *ops.Watch
	callers  Authenticator
	capacity *capacity
	bodies   budget
	drain    sync.Once
	draining chan struct{}
	leaving  atomic.Bool
	watchers gate // of the health service
	streams  gate
	shares   *perTenant[*shares]
	messages *messages         // nil for no HL7 version 2
	hooks    *Hooks            // nil for no CDS Hooks
	record   *recordDoor       // nil for no record
	launch   *worksheet.Launch // nil if no record launches the page

	envelopes *perTenant[*envelopes] // of messages of FHIR
}

var _ encoded.AssessmentServiceServer = (*Server)(nil)

// Config is what an operator may set about the doors.
type Config struct {
	// MaxConcurrent is how many requests are answered at a time, at least 1.
	MaxConcurrent int
	// Base is the FHIR base address that callers use; empty if it is only known from
	// their requests.
	Base string
	// TokenEndpoint is where clients of SMART get their tokens; empty if it is not known,
	// in which case SMART is not claimed.
	TokenEndpoint string
	// Callers counts callers who are refused although they showed who they are; nil for nobody.
	Callers *ops.AuthMetrics
	// Fairness is what one client may take.
	Fairness Fairness
	// Trail is told of every assessment; nil for nobody.
	Trail *audit.Trail
	// MaxConnections is how many connections each door has at a time, at least 1.
	MaxConnections int
	// MaxConnectionAge is after how long a connection is given up, give or take a
	// tenth, so that new replicas get their share of the callers; 0 for never. What
	// runs on it goes on to its end.
	MaxConnectionAge time.Duration
	// Processors is how many requests are computed at a time; 0 for as many as there
	// are processors.
	Processors int
	// Operations are the names of those of OperationNames that are offered; nil for all.
	Operations []string
	// Reflection lets callers ask by gRPC which services and messages there are.
	Reflection bool
}

// New returns a Server that answers the callers it is told to.
func New(p *Pipeline, watch *ops.Watch, callers Authenticator, c Config) *Server {
	s := &Server{
		config: c, watch: watch, callers: callers,
		capacity: newCapacity(c.MaxConcurrent, cmp.Or(c.Processors, runtime.GOMAXPROCS(0))), draining: make(chan struct{}),
		watchers: make(gate, max(c.MaxConnections, 1)), streams: make(gate, c.MaxConcurrent),
		shares:    newPerTenant(func(tenant string) *shares { return newShares(c.Fairness, watch, tenant) }),
		envelopes: newPerTenant(func(string) *envelopes { return new(envelopes) }),
	}
	s.bodies.give(maxBodies)
	s.current.Store(loadedOf(Content{Protocols: p.Protocols, Codes: p.Codes}, p))
	return s
}

// Drain ends the streams: each answers its present request and no other.
func (s *Server) Drain() { s.drain.Do(func() { close(s.draining) }) }

// maxHeaders bounds the headers of a request, in bytes: a bearer token and
// what proxies add fit many times over.
const maxHeaders = 32 << 10

// How a connection by gRPC is given up whose caller is gone. Variables for tests; the
// values are common practice.
var (
	connectionTimeout = 10 * time.Second // until it can be used, handshakes included
	pingAfter         = time.Minute      // of silence
	pingTimeout       = 20 * time.Second // for the answer to a ping
)

// GRPC returns the gRPC server, with its health service. The options are those
// of the connection, such as TLS.
func (s *Server) GRPC(health healthpb.HealthServer, options ...grpc.ServerOption) *grpc.Server {
	metrics := s.watch.GRPCMetrics()
	g := grpc.NewServer(append(options,
		grpc.ChainUnaryInterceptor(metrics.UnaryServerInterceptor(), s.unary),
		grpc.ChainStreamInterceptor(metrics.StreamServerInterceptor(), s.streaming),
		grpc.MaxRecvMsgSize(fhir.DefaultLimits.Bytes),
		grpc.MaxHeaderListSize(maxHeaders),
		grpc.MaxConcurrentStreams(uint32(cap(s.capacity.room))),
		grpc.ConnectionTimeout(connectionTimeout),
		grpc.KeepaliveEnforcementPolicy(keepalive.EnforcementPolicy{MinTime: 20 * time.Second, PermitWithoutStream: true}),
		grpc.KeepaliveParams(keepalive.ServerParameters{
			MaxConnectionIdle: 15 * time.Minute, MaxConnectionAge: s.config.MaxConnectionAge, Time: pingAfter, Timeout: pingTimeout,
		}),
	)...)
	g.RegisterService(serviceDesc(), s)
	healthpb.RegisterHealthServer(g, health)
	if s.config.Reflection {
		describe(g)
	}
	metrics.InitializeMetrics(g)
	return g
}

// Assess answers one request by gRPC.
func (s *Server) Assess(ctx context.Context, m *encoded.AssessRequest) (*encoded.AssessResponse, error) {
	lane, err := s.capacity.enterProcessor(ctx, proto.Size(m))
	if err != nil {
		return nil, s.refuse(ctx, err)
	}
	defer lane.leave()
	return s.assess(ctx, m)
}

// assess answers a message whose turn it is.
func (s *Server) assess(ctx context.Context, m *encoded.AssessRequest) (*encoded.AssessResponse, error) {
	call := ops.CallFrom(ctx)
	call.Enter(ops.Decode)
	request, err := FromMessage(m)
	if err != nil {
		return nil, s.refuse(ctx, err)
	}
	answer, err := s.run(ctx, request)
	if err != nil {
		return nil, s.refuse(ctx, err)
	}
	call.Enter(ops.Encode)
	response, err := answer.Message()
	if err != nil {
		return nil, s.refuse(ctx, err)
	}
	call.Leave()
	return response, nil
}

// AssessJSON answers one request in FHIR JSON, for gRPC and REST.
func (s *Server) AssessJSON(ctx context.Context, body *httpbody.HttpBody) (*httpbody.HttpBody, error) {
	if !readsMediaType(body.GetContentType()) {
		return nil, s.refuse(ctx, mediaTypeUnknown(body.GetContentType()))
	}
	lane, err := s.capacity.enterProcessor(ctx, len(body.GetData()))
	if err != nil {
		return nil, s.refuse(ctx, err)
	}
	defer lane.leave()
	call := ops.CallFrom(ctx)
	call.Enter(ops.Decode)
	request, err := Decode(body.GetData())
	if err != nil {
		return nil, s.refuse(ctx, err)
	}
	answer, err := s.run(ctx, addAddress(ctx, request))
	if err != nil {
		return nil, s.refuse(ctx, err)
	}
	call.Enter(ops.Encode)
	data := encode(ctx, answer.Resource())
	call.Leave()
	return &httpbody.HttpBody{ContentType: contentType(fhirJSON), Data: data}, nil
}

// run answers a request and records it.
func (s *Server) run(ctx context.Context, q Request) (*Answer, error) {
	if s.hasNoTenant(ctx) {
		return nil, s.deny(ctx, auth.RefuseTenant())
	}
	answer, err := s.pipelineOf(ctx).Run(ctx, preferring(ctx, q))
	if err := s.audit(ctx, answer, err); err != nil {
		return nil, err
	}
	call, name := ops.CallFrom(ctx), protocolName(answer.Assessment.Protocol)
	if answer.Bundle == nil {
		call.Read(name, answer.Used, answer.Issues)
		return answer, nil
	}
	call.Assessed(name, answer.Assessment.Readiness, answer.Used, answer.Issues)
	return answer, nil
}

// refuse records a refusal and returns it as its caller may read it.
func (s *Server) refuse(ctx context.Context, err error) *refusal {
	refused := refusalOf(err)
	if refused.Kind() == fault.Internal {
		s.watch.Defect(ctx, err)
	}
	return s.noteRefusal(ctx, refused)
}

// recover turns a panic into a refusal. It is to be deferred.
func (s *Server) recover(ctx context.Context, err *error) {
	if value := recover(); value != nil {
		s.watch.Panicked(ctx, value)
		*err = s.noteRefusal(ctx, refusalOf(errPanicked))
	}
}

// isDraining reports whether the service ends what runs, in which case it may be the one
// who hung up.
func (s *Server) isDraining() bool {
	select {
	case <-s.draining:
		return true
	default:
		return false
	}
}

// noteRefusal notes a refusal for the log and the metrics. A defect gets the
// request's id, under which it was logged.
func (s *Server) noteRefusal(ctx context.Context, refused *refusal) *refusal {
	call := ops.CallFrom(ctx)
	if refused.code == codes.Canceled && !s.isDraining() {
		call.Gone()
		return refused
	}
	call.Refused(refused.Errors)
	if refused.Kind() == fault.Internal {
		refused.Issues[0].Diagnostic = "request id " + call.ID
	}
	return refused
}
