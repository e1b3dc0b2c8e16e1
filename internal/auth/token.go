package auth

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/go-jose/go-jose/v4/jwt"
)

// leeway is how far two clocks may be apart.
const leeway = time.Minute

// maxToken bounds a token, in bytes: one with many scopes has about two
// thousand.
const maxToken = 16 << 10

// claims are those of an access token that are read. Nobody changes them: tokens that are
// known share theirs.
type claims struct {
	jwt.Claims
	Scope    string `json:"scope"`
	ClientID string `json:"client_id"` // RFC 9068
	Party    string `json:"azp"`       // OpenID Connect, where client_id is absent
	// Confirmation says by which key the sender must prove that the token is its own.
	Confirmation map[string]any `json:"cnf"` // RFC 7800
}

// client is the id of the client that the token was issued to.
func (c *claims) client() string {
	if c.ClientID != "" {
		return c.ClientID
	}
	return c.Party
}

// validate returns the caller, or why it is refused. A caller that is refused has its
// client as soon as that is known, which is once the signature has been verified.
func (a *Authenticator) validate(ctx context.Context, shown Credentials) (Caller, Reason) {
	text, ok := bearer(shown.Authorization)
	if !ok {
		return Caller{}, NoToken
	}
	c, reason := a.signed(ctx, text)
	if reason != "" {
		return Caller{}, reason
	}
	caller := Caller{Issuer: c.Issuer, Client: c.client()}
	if c.Subject != caller.Client {
		caller.Person = c.Subject
	}
	if reason := a.bound(c, shown.Certificate); reason != "" {
		return caller, reason
	}
	if reason := a.valid(c); reason != "" {
		return caller, reason
	}
	if reason := a.admit(c); reason != "" {
		return caller, reason
	}
	caller.Until, caller.MayStore = c.Expiry.Time().Add(leeway), coversStoring(c.Scope)
	return caller, ""
}

// signed are the claims of a token that its issuer signed.
func (a *Authenticator) signed(ctx context.Context, text string) (*claims, Reason) {
	if c := a.known.find(text); c != nil {
		return c, ""
	}
	token, reason := a.parse(text)
	if reason != "" {
		return nil, reason
	}
	return a.verify(ctx, token, text)
}

// bearer is the token in the header Authorization. If there are two it returns none:
// which of them counts would be a guess.
func bearer(authorization []string) (string, bool) {
	if len(authorization) != 1 {
		return "", false
	}
	scheme, token, _ := strings.Cut(authorization[0], " ")
	token = strings.Trim(token, " ")
	return token, strings.EqualFold(scheme, "Bearer") && token != ""
}

// parse reads a token without verifying it.
func (a *Authenticator) parse(text string) (*jwt.JSONWebToken, Reason) {
	if len(text) > maxToken {
		return nil, Malformed
	}
	token, err := jwt.ParseSigned(text, a.config.Algorithms)
	if _, unwanted := errors.AsType[*jose.ErrUnexpectedSignatureAlgorithm](err); unwanted {
		return nil, Algorithm
	}
	if err != nil || len(token.Headers) != 1 || token.Headers[0].KeyID == "" {
		return nil, Malformed
	}
	if _, critical := token.Headers[0].ExtraHeaders["crit"]; critical {
		return nil, Malformed // RFC 7515, section 4.1.11: no extension is understood here, and an empty list is not allowed
	}
	if !isAccessToken(token.Headers[0]) {
		return nil, Type
	}
	return token, ""
}

// isAccessToken tells an access token from the other things that are JWTs.
//
// Source: RFC 9068, section 4; RFC 7519, section 5.1 for the plain JWT.
func isAccessToken(h jose.Header) bool {
	stated, present := h.ExtraHeaders[jose.HeaderType]
	if !present {
		return true
	}
	typ, _ := stated.(string)
	typ = strings.TrimPrefix(strings.ToLower(typ), "application/")
	return typ == "at+jwt" || typ == "jwt"
}

// verify checks the signature with the keys of the issuer that the token names, and
// returns the signed claims. The text is the token's.
func (a *Authenticator) verify(ctx context.Context, token *jwt.JSONWebToken, text string) (*claims, Reason) {
	var stated, signed claims
	if err := token.UnsafeClaimsWithoutVerification(&stated); err != nil {
		return nil, Malformed
	}
	source := a.sources[stated.Issuer]
	if source == nil {
		return nil, UnknownIss
	}
	header, keys := token.Headers[0], source.keys.Load()
	key, reason := source.key(ctx, header.KeyID, jose.SignatureAlgorithm(header.Algorithm))
	if reason != "" {
		return nil, reason
	}
	if !a.checks.enter(ctx) {
		return nil, Busy
	}
	err := token.Claims(key, &signed)
	a.checks.leave()
	if err != nil {
		return nil, Signature
	}
	a.known.add(text, &signed, source, keys)
	return &signed, ""
}

// valid checks that the token is for this service and for now.
func (a *Authenticator) valid(c *claims) Reason {
	if c.Expiry == nil {
		return Malformed
	}
	err := c.ValidateWithLeeway(jwt.Expected{AnyAudience: jwt.Audience{a.config.Audience}, Time: time.Now()}, leeway)
	switch {
	case err == nil && a.config.MaxLife > 0 && time.Until(c.Expiry.Time()) > a.config.MaxLife+leeway:
		return Lifetime
	case err == nil:
		return ""
	case errors.Is(err, jwt.ErrInvalidAudience):
		return Audience
	case errors.Is(err, jwt.ErrExpired):
		return Expired
	case errors.Is(err, jwt.ErrNotValidYet), errors.Is(err, jwt.ErrIssuedInTheFuture):
		return NotYetValid
	}
	return Malformed
}

// admit checks that the client is allowed and has the scope.
func (a *Authenticator) admit(c *claims) Reason {
	client := c.client()
	if client == "" || len(a.config.Clients) > 0 && !slices.Contains(a.config.Clients, client) {
		return Client
	}
	if !covers(c.Scope) {
		return Scope
	}
	return ""
}
