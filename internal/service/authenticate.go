package service

import (
	"context"
	"crypto/tls"
	"errors"
	"net/http"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/peer"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/ops"
)

// An Authenticator identifies the caller by what it shows. The error is a refusal. gRPC,
// REST and streams share one.
type Authenticator interface {
	Authenticate(ctx context.Context, shown auth.Credentials) (auth.Caller, error)
}

// authenticate lets only known callers pass. It runs before routing, so that others do
// not learn which addresses exist.
func (s *Server) authenticate(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		shown := auth.Credentials{Authorization: r.Header.Values("Authorization"), Certificate: certificateOf(r.TLS)}
		if _, err := s.admit(r.Context(), shown); err != nil {
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
	shown := auth.Credentials{Authorization: metadata.ValueFromIncomingContext(ctx, "authorization")}
	if from, ok := peer.FromContext(ctx); ok {
		if info, ok := from.AuthInfo.(credentials.TLSInfo); ok {
			shown.Certificate = certificateOf(&info.State)
		}
	}
	caller, err := s.admit(ctx, shown)
	if err == nil {
		return caller, nil
	}
	if challenge := challengeOf(err); challenge != "" {
		_ = grpc.SetHeader(ctx, metadata.Pairs("www-authenticate", challenge)) // see beginRPC
	}
	return caller, s.refuse(ctx, err)
}

// certificateOf is the client's certificate of a connection, in DER; nil if it has none
// that was verified.
func certificateOf(state *tls.ConnectionState) []byte {
	if state == nil || len(state.VerifiedChains) == 0 {
		return nil
	}
	return state.VerifiedChains[0][0].Raw
}

// admit identifies the caller and notes it for the log.
func (s *Server) admit(ctx context.Context, shown auth.Credentials) (auth.Caller, error) {
	call := ops.CallFrom(ctx)
	caller, err := s.callers.Authenticate(ctx, shown)
	if refused, ok := errors.AsType[*auth.Refusal](err); ok {
		call.Denied = string(refused.Reason)
	}
	call.Client, call.Person, call.MayStore = caller.Client, caller.Person, caller.MayStore
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
