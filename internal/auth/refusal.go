package auth

import (
	"fmt"

	"evenreach.example/internal/fault"
)

// A Reason is why a caller was refused; empty if it was not.
type Reason string

// The reasons.
const (
	NoToken      Reason = "no-token"
	Malformed    Reason = "malformed"
	Algorithm    Reason = "algorithm"
	Type         Reason = "type"
	UnknownIss   Reason = "issuer"
	UnknownKey   Reason = "key"
	Signature    Reason = "signature"
	Bound        Reason = "bound"
	Unbound      Reason = "unbound"
	Audience     Reason = "audience"
	Expired      Reason = "expired"
	NotYetValid  Reason = "not-yet-valid"
	Lifetime     Reason = "lifetime"
	Client       Reason = "client"
	Scope        Reason = "scope"
	KeysNotThere Reason = "keys-unavailable"
	Replayed     Reason = "replayed"
	Busy         Reason = "busy"

	UnknownSecret Reason = "secret"
	NoStoring     Reason = "scope-to-store"
	NoTenant      Reason = "tenant"
)

// verdict is the answer to a caller that is refused for a reason.
type verdict struct {
	kind   fault.Kind
	code   string // of RFC 6750, section 3.1; empty for none
	detail string
}

var verdicts = map[Reason]verdict{
	NoToken:      {fault.Unauthenticated, "", "found no bearer token; expected one in the header Authorization, once"},
	Malformed:    {fault.Unauthenticated, "invalid_token", "the token is no signed JWT with iss, aud, exp and kid; expected one in the compact form"},
	Algorithm:    {fault.Unauthenticated, "invalid_token", "the token is signed by an algorithm that is not accepted"},
	Type:         {fault.Unauthenticated, "invalid_token", "the token is of another type; expected typ at+jwt, JWT or none"},
	UnknownIss:   {fault.Unauthenticated, "invalid_token", "the token's issuer is not accepted"},
	UnknownKey:   {fault.Unauthenticated, "invalid_token", "the token's issuer publishes no key of this kid and algorithm"},
	Signature:    {fault.Unauthenticated, "invalid_token", "the token's signature does not verify"},
	Bound:        {fault.Unauthenticated, "invalid_token", "the token is bound to a key that its sender has not shown; expected the connection's client certificate to be that of x5t#S256 in cnf, and nothing else in cnf"},
	Unbound:      {fault.Unauthenticated, "invalid_token", "the token is bound to no certificate; expected cnf with x5t#S256"},
	Audience:     {fault.Unauthenticated, "invalid_token", "the token is for another audience; expected the base URL of this service"},
	Expired:      {fault.Unauthenticated, "invalid_token", "the token has expired"},
	Lifetime:     {fault.Unauthenticated, "invalid_token", "the token is valid for longer than is accepted; expected one that expires earlier"},
	NotYetValid:  {fault.Unauthenticated, "invalid_token", "the token is not valid yet"},
	Client:       {fault.Forbidden, "", "the token's client is not accepted; expected client_id or azp to name one that is"},
	Scope:        {fault.Forbidden, "insufficient_scope", "the token's scope does not cover the operation; expected " + Required + ", or the same of user"},
	Replayed:     {fault.Unauthenticated, "invalid_token", "the token was used before; expected a new one, with its own jti, for each call"},
	Busy:         {fault.Throttled, "", "the service checks as many tokens as it can; repeat the request in a moment"},
	KeysNotThere: {fault.Unavailable, "", "the keys of the token's issuer cannot be had; repeat the request in a moment"},

	UnknownSecret: {fault.Unauthenticated, "invalid_token", "the token is none of the secrets that senders of notifications have"},
	NoTenant:      {fault.Forbidden, "", "the caller belongs to no tenant of this service; expected an issuer, client or certificate that its operator has entered for one"},
	NoStoring:     {fault.Forbidden, "insufficient_scope", "the token's scope does not cover storing an answer; expected " + RequiredToStore + ", or the same of user"},
}

// reasons lists every reason, as labels of a metric.
func reasons() (labels []string) {
	for reason := range verdicts {
		labels = append(labels, string(reason))
	}
	return labels
}

// A Refusal is the answer to a caller that is not accepted. It holds no part of the
// token.
type Refusal struct {
	*fault.Errors
	Reason Reason
}

// RefuseStoring is the refusal of a client that may not have an answer stored.
func RefuseStoring() *Refusal { return refuse(NoStoring) }

// RefuseTenant is the refusal of a caller that belongs to no tenant.
func RefuseTenant() *Refusal { return refuse(NoTenant) }

func refuse(reason Reason) *Refusal {
	v := verdicts[reason]
	return &Refusal{fault.Refuse(v.kind, "", v.detail), reason}
}

// Unwrap gives the issue.
func (r *Refusal) Unwrap() error { return r.Errors }

// Challenge is the value of the header WWW-Authenticate, empty for none.
//
// Source: RFC 6750, section 3.
func (r *Refusal) Challenge() string {
	v := verdicts[r.Reason]
	switch {
	case v.kind == fault.Unavailable || v.kind == fault.Throttled:
		return ""
	case v.code == "":
		return `Bearer realm="evenreach"`
	case r.Reason == Scope:
		return fmt.Sprintf(`Bearer realm="evenreach", error=%q, error_description=%q, scope=%q`, v.code, v.detail, Required)
	case r.Reason == NoStoring:
		return fmt.Sprintf(`Bearer realm="evenreach", error=%q, error_description=%q, scope=%q`, v.code, v.detail, RequiredToStore)
	}
	return fmt.Sprintf(`Bearer realm="evenreach", error=%q, error_description=%q`, v.code, v.detail)
}
