package service

import (
	"context"

	fhirapi "evenreach.example/api/fhir"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/tenant"
)

// A membership says whose a request is: the name of a tenant, empty for nobody's.
type membership func(*tenant.Directory) string

// The tenants of what comes in without a token.
var (
	ownerOfMessages membership = func(d *tenant.Directory) string { return d.Messages }
	ownerOfRecord   membership = func(d *tenant.Directory) string { return d.Record }
)

// membershipOf is the membership of a caller.
func membershipOf(c tenant.Caller) membership {
	return func(d *tenant.Directory) string { return d.Of(c) }
}

// callerOf is what of a caller decides about its tenant.
func callerOf(c auth.Caller, shown auth.Credentials) tenant.Caller {
	return tenant.Caller{Issuer: c.Issuer, Client: c.Client, Certificate: shown.Subject}
}

type (
	servedKey struct{}
	callerKey struct{}
)

// join gives the context of a request what answers it. Every door comes through here, and nothing else
// chooses a tenant. The error refuses a request that is nobody's.
func (s *Server) join(ctx context.Context, whose membership) (context.Context, error) {
	now := s.current.Load()
	chosen := now.common
	if now.tenants != nil {
		chosen = now.byName[whose(now.tenants)]
	}
	if chosen == nil {
		return ctx, s.deny(ctx, auth.RefuseTenant())
	}
	ops.CallFrom(ctx).Tenant = chosen.name
	return context.WithValue(ctx, servedKey{}, chosen), nil
}

// joinCaller is join for a caller, whom later requests of the same stream are held against again.
func (s *Server) joinCaller(ctx context.Context, c tenant.Caller) (context.Context, error) {
	return s.join(context.WithValue(ctx, callerKey{}, c), membershipOf(c))
}

// joinAgain is join for a later request of a caller: tenants may have been replaced meanwhile.
func (s *Server) joinAgain(ctx context.Context) (context.Context, error) {
	c, _ := ctx.Value(callerKey{}).(tenant.Caller)
	return s.join(ctx, membershipOf(c))
}

// served is what answers a request: what it joined, and for who shows nothing what is common to all.
func (s *Server) served(ctx context.Context) *served {
	if joined, ok := ctx.Value(servedKey{}).(*served); ok {
		return joined
	}
	return s.current.Load().common
}

// hasNoTenant reports whether there are tenants and a request has joined none of them. It must not be assessed.
func (s *Server) hasNoTenant(ctx context.Context) bool {
	_, joined := ctx.Value(servedKey{}).(*served)
	return !joined && s.current.Load().tenants != nil
}

// pipelineOf is the pipeline that answers a request.
func (s *Server) pipelineOf(ctx context.Context) *Pipeline { return s.served(ctx).pipeline }

// libraryOf is what is published to the caller of a request.
func (s *Server) libraryOf(ctx context.Context) *fhirapi.Library { return s.served(ctx).library }

// owns reports whether a request's tenant owns what the process has once, such as the configured record. Where callers
// are not told apart everybody does.
func (s *Server) owns(ctx context.Context, owner membership) bool {
	now := s.current.Load()
	if now.tenants == nil {
		return true
	}
	name := owner(now.tenants)
	return name != "" && s.served(ctx).name == name
}
