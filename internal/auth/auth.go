// Package auth decides which callers are answered. It validates bearer tokens by the
// conventions of SMART Backend Services, the same for gRPC and HTTP, and serves
// certificates that are renewed without a restart.
package auth

import (
	"context"
	"log/slog"
	"maps"
	"net/http"
	"slices"
	"sync"
	"time"

	"github.com/go-jose/go-jose/v4"

	"evenreach.example/internal/ops"
)

// An Issuer is an authorization server whose tokens are accepted.
type Issuer struct {
	Name string // the claim iss, byte for byte
	Keys string // the address of its JSON Web Key Set
}

// Config says which tokens are accepted.
type Config struct {
	// Issuers are the only ones whose tokens are accepted. The address of an issuer's
	// keys is taken from here and never from a token.
	Issuers []Issuer
	// Audience is the base URL of this service, which the claim aud must hold.
	Audience string
	// Algorithms are the signature algorithms that are accepted.
	Algorithms []jose.SignatureAlgorithm
	// Clients are the only ones that are let in; empty for every client to
	// which the issuers give a token with the scope.
	Clients []string
	// MaxLife is how long from now a token may still be valid; 0 for no limit.
	MaxLife time.Duration
	// Bound lets in only tokens that are bound to the certificate of their sender.
	Bound bool
	// HTTP fetches the keys.
	HTTP *http.Client
}

// Credentials are what a caller shows of itself.
type Credentials struct {
	// Authorization are the values of the header of this name.
	Authorization []string
	// Certificate is that of the client, in DER, if its connection was opened with one that
	// has been verified.
	Certificate []byte
	// Subject is that of the certificate, as RFC 4514 writes it.
	Subject string
}

// A Caller is an authenticated client.
type Caller struct {
	// Issuer is who vouches for the client: the claim iss.
	Issuer string
	// Client is the id of the client: a system, and no person.
	Client string
	// Person is the claim sub, if it names another than the client: most often the user for whom
	// the client asks. It is for the audit trail alone.
	Person string
	// Until is when the token ends; zero for never.
	Until time.Time
	// MayStore says that the token also covers writing: an answer may be stored for the client.
	MayStore bool
}

// Anyone accepts every caller. It is for a service on the loopback interface and
// for tests.
type Anyone struct{}

// Authenticate accepts the caller.
func (Anyone) Authenticate(context.Context, Credentials) (Caller, error) {
	return Caller{MayStore: true}, nil
}

// An Authenticator validates bearer tokens. It may be used by many goroutines,
// and needs Run for the keys.
type Authenticator struct {
	config  Config
	sources map[string]*source // by issuer
	metrics *ops.AuthMetrics
	ready   chan struct{}
	checks  checks
	known   knownTokens
}

// New returns an Authenticator, which knows no keys before Run.
func New(c Config, metrics *ops.AuthMetrics, log *slog.Logger) *Authenticator {
	a := &Authenticator{config: c, sources: map[string]*source{}, metrics: metrics, ready: make(chan struct{}), checks: newChecks()}
	loaded := sync.OnceFunc(func() { close(a.ready) })
	for _, issuer := range c.Issuers {
		a.sources[issuer.Name] = newSource(issuer, c.HTTP, metrics, log, loaded)
	}
	metrics.Usable(a.usableKeys)
	metrics.Expect(slices.Collect(maps.Keys(a.sources)), reasons())
	return a
}

// Run fetches the keys of every issuer and renews them until the context ends.
func (a *Authenticator) Run(ctx context.Context) {
	var group sync.WaitGroup
	for _, s := range a.sources {
		group.Go(func() { s.run(ctx) })
	}
	group.Wait()
}

// Ready is closed once the keys of one issuer have been fetched. It does not wait for
// all issuers: one that is down must not lock out the callers of another.
func (a *Authenticator) Ready() <-chan struct{} { return a.ready }

// Usable reports whether the keys of one issuer at least are there and have not
// expired: without them nobody can be let in.
func (a *Authenticator) Usable() bool {
	return slices.Contains(slices.Collect(maps.Values(a.usableKeys())), true)
}

// usableKeys tells of each issuer whether its keys are there and have not expired.
func (a *Authenticator) usableKeys() map[string]bool {
	usable := make(map[string]bool, len(a.sources))
	for name, s := range a.sources {
		usable[name] = s.keys.Load().usable()
	}
	return usable
}

// Authenticate validates what a caller shows. The error is always a *Refusal; the caller
// beside it is for the log, with the client if the issuer vouches for that.
func (a *Authenticator) Authenticate(ctx context.Context, shown Credentials) (Caller, error) {
	caller, reason := a.validate(ctx, shown)
	if reason != "" {
		a.metrics.Refused(string(reason))
		return caller, refuse(reason)
	}
	return caller, nil
}
