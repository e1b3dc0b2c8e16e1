package config

import (
	"maps"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/go-jose/go-jose/v4"

	"evenreach.example/internal/auth"
)

// Auth is the configuration of authentication as it was written. Lists are separated
// by commas.
type Auth struct {
	Issuers        string `name:"auth-issuers" env:"EVENREACH_AUTH_ISSUERS" placeholder:"ISSUER=JWKS,..." help:"The authorization servers whose tokens are accepted, each with the address of its keys."`
	Audience       string `name:"auth-audience" env:"EVENREACH_AUTH_AUDIENCE" placeholder:"URL" help:"The base URL of this service, which tokens must have as aud."`
	Clients        string `name:"auth-clients" env:"EVENREACH_AUTH_CLIENTS" placeholder:"ID,..." help:"The clients that are let in (every one with a token of the issuers)."`
	Algorithms     string `name:"auth-algorithms" env:"EVENREACH_AUTH_ALGORITHMS" default:"RS384,ES384" placeholder:"ALG,..." help:"The signature algorithms that are accepted (${default})."`
	KeysCA         string `name:"auth-ca" env:"EVENREACH_AUTH_CA" placeholder:"FILE" help:"The authorities, in PEM, that vouch for the addresses of keys; it may be replaced at any time (those of the system)."`
	MaxLife        string `name:"auth-max-token-life" env:"EVENREACH_AUTH_MAX_TOKEN_LIFE" default:"2h" placeholder:"DURATION" help:"For how long from now a token may still be valid; 0 for any time (${default})."`
	Bound          string `name:"auth-bound-tokens" alone:"true" env:"EVENREACH_AUTH_BOUND_TOKENS" help:"Let in only tokens that are bound to the certificate of their sender (RFC 8705); needs --tls-client-ca."`
	TokenEndpoint  string `name:"smart-token-endpoint" env:"EVENREACH_SMART_TOKEN_ENDPOINT" placeholder:"URL" help:"Where clients get tokens; with it SMART is claimed and .well-known/smart-configuration answered (none)."`
	InsecureNoAuth string `name:"insecure-no-auth" alone:"true" env:"EVENREACH_INSECURE_NO_AUTH" help:"Let in everybody. On the loopback interface only."`
}

// algorithms are those that can be accepted: signatures by a pair of keys. With a
// symmetric one the published key would be the secret.
var algorithms = []jose.SignatureAlgorithm{
	jose.RS256, jose.RS384, jose.RS512,
	jose.PS256, jose.PS384, jose.PS512,
	jose.ES256, jose.ES384, jose.ES512,
}

// resolve says which tokens are accepted; nil to let in everybody. The
// addresses are those that callers reach, by their options.
func (a Auth) resolve(r *resolver, addresses map[string]string) *auth.Config {
	if r.boolean("insecure-no-auth", a.InsecureNoAuth) {
		a.refuseConflicts(r, addresses)
		return nil
	}
	if a.Issuers == "" {
		r.report("auth-issuers", "found none; expected the authorization servers whose tokens are accepted, "+
			"or --insecure-no-auth to let in everybody on the loopback interface")
	}
	return &auth.Config{
		Issuers:    r.issuers(a.Issuers),
		Audience:   r.audience(a.Audience),
		Algorithms: r.algorithms(a.Algorithms),
		Clients:    r.clients(a.Clients),
		MaxLife:    r.duration("auth-max-token-life", a.MaxLife),
		Bound:      r.boolean("auth-bound-tokens", a.Bound),
		HTTP:       &http.Client{Transport: r.authorities("auth-ca", a.KeysCA)},
	}
}

// refuseConflicts reports options that must not be set together with no
// authentication.
func (a Auth) refuseConflicts(r *resolver, addresses map[string]string) {
	for _, option := range slices.Sorted(maps.Keys(addresses)) {
		if address := addresses[option]; !isLoopback(address) {
			r.report("insecure-no-auth", "found --%s %q; expected an address of the loopback interface, such as 127.0.0.1:8080", option, address)
		}
	}
	if a.Issuers != "" {
		r.report("insecure-no-auth", "found --auth-issuers as well; expected one of the two")
	}
}

// issuers reads ISSUER=JWKS pairs.
func (r *resolver) issuers(text string) (issuers []auth.Issuer) {
	seen := map[string]bool{}
	for _, pair := range list(text) {
		name, keys, _ := strings.Cut(pair, "=")
		switch {
		case name == "" || !isSafe(keys):
			r.report("auth-issuers", "found %q; expected ISSUER=JWKS, where JWKS is an https address (http on the loopback interface only)", pair)
		case seen[name]:
			r.report("auth-issuers", "found the issuer %q again; expected it once", name)
		}
		seen[name] = true
		issuers = append(issuers, auth.Issuer{Name: name, Keys: keys})
	}
	return issuers
}

// isSafe reports whether an answer from an address cannot have been changed by others:
// by TLS, or because it never leaves the machine.
func isSafe(address string) bool {
	u, err := url.Parse(address)
	if err != nil || u.Host == "" || u.User != nil {
		return false
	}
	return u.Scheme == "https" || u.Scheme == "http" && isLoopback(net.JoinHostPort(u.Hostname(), u.Port()))
}

// clients reads the clients that are let in. A list that names nobody would let in every
// client, which can hardly be meant.
func (r *resolver) clients(text string) []string {
	clients := list(text)
	if text != "" && len(clients) == 0 {
		r.report("auth-clients", "found %q, which names nobody; expected ids, or leave it unset to let in every client of the issuers", text)
	}
	return clients
}

// tokenEndpoint reads where clients get tokens; empty for nowhere.
func (a Auth) tokenEndpoint(r *resolver) string {
	if u, err := url.Parse(a.TokenEndpoint); a.TokenEndpoint != "" && (err != nil || u.Host == "" || u.Scheme != "https") {
		r.report("smart-token-endpoint", "found %q; expected an https address, such as https://id.hospital.example/token", a.TokenEndpoint)
	}
	return a.TokenEndpoint
}

func (r *resolver) audience(text string) string {
	if u, err := url.Parse(text); err != nil || u.Host == "" || u.Scheme != "https" && u.Scheme != "http" {
		r.report("auth-audience", "found %q; expected the base URL of this service, such as https://evenreach.hospital.example/fhir", text)
	}
	return text
}

func (r *resolver) algorithms(text string) (accepted []jose.SignatureAlgorithm) {
	for _, name := range list(text) {
		if !slices.Contains(algorithms, jose.SignatureAlgorithm(name)) {
			r.report("auth-algorithms", "found %q; expected some of %v", name, algorithms)
		}
		accepted = append(accepted, jose.SignatureAlgorithm(name))
	}
	if len(accepted) == 0 {
		r.report("auth-algorithms", "found none; expected some of %v", algorithms)
	}
	return accepted
}

// authorities vouch for servers that are asked. They are never nil.
func (r *resolver) authorities(option, file string) *auth.Authorities {
	if known := r.vouching[option]; known != nil {
		return known
	}
	authorities, err := auth.ReadAuthorities(file)
	if err != nil {
		r.report(option, "%v", err)
		authorities, _ = auth.ReadAuthorities("") // the system's, which are not read here
		return authorities
	}
	if file != "" {
		if r.vouching == nil {
			r.vouching = map[string]*auth.Authorities{}
		}
		r.vouching[option] = authorities
	}
	return authorities
}

// list splits a text at its commas.
func list(text string) (items []string) {
	for item := range strings.SplitSeq(text, ",") {
		if item = strings.TrimSpace(item); item != "" {
			items = append(items, item)
		}
	}
	return items
}
