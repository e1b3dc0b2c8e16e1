package service

import (
	"context"
	"errors"
	"net/http"

	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/ops"
)

// An Authenticator identifies the caller from the values of the header Authorization.
// The error is a refusal. gRPC, REST and streams share one.
type Authenticator interface {
	Authenticate(ctx context.Context, authorization []string) (auth.Caller, error)
}

// authenticate lets only known callers pass. It runs before routing, so that others do
// not learn which addresses exist.
func (s *Server) authenticate(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if _, err := s.admit(r.Context(), r.Header.Values("Authorization")); err != nil {
			if challenge := challengeOf(err); challenge != "" {
				w.Header().Set("WWW-Authenticate", challenge)
			}
			s.writeRefusal(w, r, err)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// admitRPC lets only known callers pass by gRPC, or refuses.
func (s *Server) admitRPC(ctx context.Context) (auth.Caller, error) {
	caller, err := s.admit(ctx, metadata.ValueFromIncomingContext(ctx, "authorization"))
	if err == nil {
		return caller, nil
	}
	if challenge := challengeOf(err); challenge != "" {
		_ = grpc.SetHeader(ctx, metadata.Pairs("www-authenticate", challenge)) // see beginRPC
	}
	return caller, s.refuse(ctx, err)
}

// admit identifies the caller and notes it for the log.
func (s *Server) admit(ctx context.Context, authorization []string) (auth.Caller, error) {
	call := ops.CallFrom(ctx)
	caller, err := s.callers.Authenticate(ctx, authorization)
	if refused, ok := errors.AsType[*auth.Refusal](err); ok {
		call.Denied = string(refused.Reason)
	}
	call.Client, call.MayStore = caller.Client, caller.MayStore
	return caller, err
}

// challengeOf is the value of WWW-Authenticate for a refusal.
func challengeOf(err error) string {
	if refused, ok := errors.AsType[*auth.Refusal](err); ok {
		return refused.Challenge()
	}
	return ""
}

// untilExpiry is a context that ends when the token of its caller expires.
func untilExpiry(ctx context.Context, caller auth.Caller) (context.Context, context.CancelFunc) {
	if caller.Until.IsZero() {
		return context.WithCancel(ctx)
	}
	expired := fault.Refuse(fault.Unauthenticated, "", "the token has expired; begin another stream with a new one")
	return context.WithDeadlineCause(ctx, caller.Until, expired)
}
