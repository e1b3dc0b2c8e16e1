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
		ctx, _, err := s.admit(r.Context(), shownBy(r))
		if err != nil {
			s.writeRefusal(w, r, err)
			return
		}
		next.ServeHTTP(w, r.WithContext(ctx))
	})
}

// shownBy is what a caller by HTTP shows of itself.
func shownBy(r *http.Request) auth.Credentials {
	shown := auth.Credentials{Authorization: r.Header.Values("Authorization")}
	addCertificate(&shown, r.TLS)
	return shown
}

// admitRPC lets only known callers pass by gRPC, or refuses.
func (s *Server) admitRPC(ctx context.Context) (context.Context, auth.Caller, error) {
	shown := auth.Credentials{Authorization: metadata.ValueFromIncomingContext(ctx, "authorization")}
	if from, ok := peer.FromContext(ctx); ok {
		if info, ok := from.AuthInfo.(credentials.TLSInfo); ok {
			addCertificate(&shown, &info.State)
		}
	}
	ctx, caller, err := s.admit(ctx, shown)
	if err == nil {
		return ctx, caller, nil
	}
	if challenge := challengeOf(err); challenge != "" {
		_ = grpc.SetHeader(ctx, metadata.Pairs("www-authenticate", challenge)) // see beginRPC
	}
	return ctx, caller, s.refuse(ctx, err)
}

// addCertificate adds the client's certificate of a connection, if it has one that was verified.
func addCertificate(shown *auth.Credentials, state *tls.ConnectionState) {
	if state == nil || len(state.VerifiedChains) == 0 {
		return
	}
	of := state.VerifiedChains[0][0]
	shown.Certificate, shown.Subject = of.Raw, of.Subject.String()
}

// admit identifies the caller, notes it for the log, and finds its tenant.
func (s *Server) admit(ctx context.Context, shown auth.Credentials) (context.Context, auth.Caller, error) {
	call := ops.CallFrom(ctx)
	caller, err := s.callers.Authenticate(ctx, shown)
	if refused, ok := errors.AsType[*auth.Refusal](err); ok {
		call.Denied = string(refused.Reason)
	}
	call.Client, call.Person, call.MayStore = caller.Client, caller.Person, caller.MayStore
	if err == nil {
		ctx, err = s.joinCaller(ctx, callerOf(caller, shown))
	}
	return ctx, caller, err
}

// deny notes in log and metrics that somebody is refused whom no authenticator refused.
func (s *Server) deny(ctx context.Context, refused *auth.Refusal) error {
	reason := string(refused.Reason)
	ops.CallFrom(ctx).Denied = reason
	if s.config.Callers != nil {
		s.config.Callers.Refused(reason)
	}
	return refused
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
