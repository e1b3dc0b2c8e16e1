package auth

import (
	"context"
	"errors"
	"log/slog"
	"maps"
	"net/http"
	"sync"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/go-jose/go-jose/v4/jwt"

	"evenreach.example/internal/ops"
)

// HookClients says which clients of CDS Hooks are let in.
type HookClients struct {
	// Clients are the clients by the claim iss, with the address of their keys, which is taken
	// from here: a jku in a token must be the same, and is never followed.
	Clients []Issuer
	// Base is the address of the service as clients call it: with the path of a request it
	// is the claim aud.
	Base       string
	Algorithms []jose.SignatureAlgorithm
	HTTP       *http.Client
}

// A HookAuthenticator validates the tokens of CDS Hooks, which a client signs for each call. It may be used by many
// goroutines, and needs Run for the keys.
//
// Source: CDS Hooks 2.0, security and safety: trusting CDS clients.
type HookAuthenticator struct {
	tokens *Authenticator
	base   string
	keys   map[string]string // addresses, by client

	mu   sync.Mutex
	used map[jti]time.Time // when each token expires
}

// jti is the id of a token and its client.
type jti struct{ client, id string }

// maxUsed bounds the tokens that are remembered. Beyond it calls are refused for the moment, rather than
// repeated ones let in.
//
// Source: ours: those of five minutes at 300 calls a second.
const maxUsed = 100_000

// longestToken is how long a token may be valid: what is remembered has to be forgotten some time.
//
// Source: common practice; CDS Hooks 2.0 recommends five minutes.
const longestToken = 10 * time.Minute

// NewHooks returns a HookAuthenticator, which knows no keys before Run.
func NewHooks(c HookClients, metrics *ops.AuthMetrics, log *slog.Logger) *HookAuthenticator {
	a := &HookAuthenticator{base: c.Base, keys: map[string]string{}, used: map[jti]time.Time{}}
	a.tokens = New(Config{Issuers: c.Clients, Algorithms: c.Algorithms, HTTP: c.HTTP}, metrics, log)
	for _, client := range c.Clients {
		a.keys[client.Name] = client.Keys
	}
	return a
}

// Run fetches the keys of every client and renews them until the context ends.
func (a *HookAuthenticator) Run(ctx context.Context) { a.tokens.Run(ctx) }

// Authenticate validates the values of the header Authorization of a call of an address. The error is
// always a *Refusal.
func (a *HookAuthenticator) Authenticate(ctx context.Context, authorization []string, path string) (Caller, error) {
	caller, reason := a.validate(ctx, authorization, path)
	if reason != "" {
		a.tokens.metrics.Refused(string(reason))
		return Caller{}, refuse(reason)
	}
	return caller, nil
}

func (a *HookAuthenticator) validate(ctx context.Context, authorization []string, path string) (Caller, Reason) {
	text, ok := bearer(authorization)
	if !ok {
		return Caller{}, NoToken
	}
	token, reason := a.tokens.parse(text)
	if reason != "" {
		return Caller{}, reason
	}
	c, reason := a.tokens.verify(ctx, token, text)
	if reason != "" {
		return Caller{}, reason
	}
	if stated, present := token.Headers[0].ExtraHeaders["jku"]; present && stated != a.keys[c.Issuer] {
		return Caller{}, UnknownKey
	}
	if reason := a.valid(c, path); reason != "" {
		return Caller{}, reason
	}
	return Caller{Issuer: c.Issuer, Client: c.Issuer, Until: c.Expiry.Time().Add(leeway)}, ""
}

// valid checks that a token is for this call, for now and for the first time.
func (a *HookAuthenticator) valid(c *claims, path string) Reason {
	now := time.Now()
	if c.Expiry == nil || c.IssuedAt == nil || c.ID == "" || c.Expiry.Time().After(now.Add(longestToken)) {
		return Malformed
	}
	err := c.ValidateWithLeeway(jwt.Expected{AnyAudience: jwt.Audience{a.base + path}, Time: now}, leeway)
	switch {
	case errors.Is(err, jwt.ErrInvalidAudience):
		return Audience
	case errors.Is(err, jwt.ErrExpired):
		return Expired
	case errors.Is(err, jwt.ErrNotValidYet), errors.Is(err, jwt.ErrIssuedInTheFuture):
		return NotYetValid
	case err != nil:
		return Malformed
	}
	return a.first(jti{c.Issuer, c.ID}, c.Expiry.Time().Add(leeway), now)
}

// first notes a token that was not used before.
func (a *HookAuthenticator) first(id jti, until, now time.Time) Reason {
	a.mu.Lock()
	defer a.mu.Unlock()
	if _, used := a.used[id]; used {
		return Replayed
	}
	if len(a.used) >= maxUsed {
		maps.DeleteFunc(a.used, func(_ jti, until time.Time) bool { return now.After(until) })
	}
	if len(a.used) >= maxUsed {
		return KeysNotThere
	}
	a.used[id] = until
	return ""
}
