package service

import (
	"context"
	"errors"
	"slices"
	"strings"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	healthpb "google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/peer"
	"google.golang.org/grpc/status"

	"evenreach.example/internal/ops"
	"evenreach.example/internal/service/encoded"
)

// Name is the service's name in gRPC.
const Name = "evenreach.v1.AssessmentService"

// serviceDesc describes the AssessmentService, under its name in the contract, so that the
// interceptors of a unary call run before its message is read, not after: otherwise a caller without a token could
// make the service hold one message for each open call.
func serviceDesc() *grpc.ServiceDesc {
	description := encoded.AssessmentService_ServiceDesc
	description.ServiceName = Name
	description.Methods = slices.Clone(description.Methods)
	for i, method := range description.Methods {
		info := &grpc.UnaryServerInfo{FullMethod: "/" + description.ServiceName + "/" + method.MethodName}
		description.Methods[i].Handler = func(server any, ctx context.Context, read func(any) error, intercept grpc.UnaryServerInterceptor) (any, error) {
			return intercept(ctx, nil, info, func(ctx context.Context, _ any) (any, error) {
				return method.Handler(server, ctx, read, nil)
			})
		}
	}
	return &description
}

// unary is the interceptor of every unary call. The gateway calls the Server
// without it, and has its own chain in Handler.
func (s *Server) unary(ctx context.Context, req any, info *grpc.UnaryServerInfo, next grpc.UnaryHandler) (resp any, err error) {
	if isProbe(info.FullMethod) {
		return next(ctx, req)
	}
	ctx, call := s.beginRPC(ctx, info.FullMethod)
	defer func() { s.watch.End(call, status.Code(err)) }()
	defer s.recover(ctx, &err)
	ctx, caller, err := s.admitRPC(ctx)
	if err != nil {
		return nil, err
	}
	leave, err := s.sharesOf(ctx).enter(caller.Client)
	if err != nil {
		if throttled, ok := errors.AsType[*tooMany](err); ok {
			throttled.pushBack(ctx)
		}
		return nil, s.refuse(ctx, err)
	}
	defer leave()
	if err := s.capacity.enterRoom(ctx); err != nil {
		return nil, s.refuse(ctx, err)
	}
	defer s.capacity.room.leave()
	return next(ctx, req)
}

// streaming is the interceptor of every stream. Each request of a stream waits for its
// own slot. A stream ends when the token that it was opened with expires.
func (s *Server) streaming(server any, stream grpc.ServerStream, info *grpc.StreamServerInfo, next grpc.StreamHandler) (err error) {
	if isProbe(info.FullMethod) {
		return s.watchHealth(server, stream, next)
	}
	ctx, call := s.beginRPC(stream.Context(), info.FullMethod)
	defer func() { s.watch.End(call, status.Code(err)) }()
	defer s.recover(ctx, &err)
	ctx, caller, err := s.admitRPC(ctx)
	if err != nil {
		return err
	}
	if !s.streams.tryEnter() {
		return s.refuse(ctx, busy())
	}
	defer s.streams.leave()
	ctx, cancel := untilExpiry(ctx, caller)
	defer cancel()
	return next(server, inContext{stream, ctx})
}

// watchHealth lets a caller watch the health, which needs no token, unless there are
// as many already as there may be connections: one for each is what a client needs.
func (s *Server) watchHealth(server any, stream grpc.ServerStream, next grpc.StreamHandler) error {
	if !s.watchers.tryEnter() {
		return status.Error(codes.ResourceExhausted, "too many callers watch the health of the service; expected one for each connection")
	}
	defer s.watchers.leave()
	return next(server, stream)
}

// isProbe tells the health service from all others. It alone needs no token, for a
// kubelet has none, and its probes are not worth a line of the log each.
func isProbe(method string) bool {
	return strings.HasPrefix(method, "/"+healthpb.Health_ServiceDesc.ServiceName+"/")
}

// beginRPC begins the call of an RPC and echoes its request id.
func (s *Server) beginRPC(ctx context.Context, method string) (context.Context, *ops.Call) {
	id := requestID(first(metadata.ValueFromIncomingContext(ctx, requestIDHeader)))
	// It fails only outside of an RPC, or after headers were sent.
	_ = grpc.SetHeader(ctx, metadata.Pairs(requestIDHeader, id))
	ctx, call := s.watch.Begin(s.watch.JoinGRPC(ctx), ops.GRPC, id, method)
	ctx = withLanguage(ctx, metadata.ValueFromIncomingContext(ctx, "accept-language"))
	ctx = withForce(ctx, metadata.ValueFromIncomingContext(ctx, forceUnitMetadata))
	if from, ok := peer.FromContext(ctx); ok {
		call.Peer = from.Addr.String()
	}
	if !strings.HasPrefix(method, "/"+Name+"/") {
		call.Aside(method)
	}
	return ctx, call
}

func first(values []string) string {
	if len(values) == 0 {
		return ""
	}
	return values[0]
}

// inContext is a stream with another context.
type inContext struct {
	grpc.ServerStream
	ctx context.Context
}

// Context is the context with the call.
func (s inContext) Context() context.Context { return s.ctx }
