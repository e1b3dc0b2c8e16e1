package config

import (
	"net/http"
	"net/url"
	"strings"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/cdshooks"
)

// Hooks is the configuration of CDS Hooks as it was written. Lists are separated by commas.
type Hooks struct {
	HooksOff     string `name:"no-cds-hooks" alone:"true" env:"EVENREACH_NO_CDS_HOOKS" help:"Answer no CDS Hooks."`
	HookClients  string `name:"cds-clients" env:"EVENREACH_CDS_CLIENTS" placeholder:"ISS=JWKS,..." help:"The clients of CDS Hooks, each with the address of its keys (none: CDS Hooks are answered only with --insecure-no-auth)."`
	HookBase     string `name:"cds-base" env:"EVENREACH_CDS_BASE" placeholder:"URL" help:"The address before /cds-services as clients call it, which their tokens must have in aud."`
	HookServers  string `name:"cds-fhir-servers" env:"EVENREACH_CDS_FHIR_SERVERS" placeholder:"URL,..." help:"The base addresses of the FHIR servers that may be asked for prefetch that is missing (none)."`
	HookServerCA string `name:"cds-fhir-ca" env:"EVENREACH_CDS_FHIR_CA" placeholder:"FILE" help:"The authorities, in PEM, that vouch for those servers (those of the system)."`
	HookOrigins  string `name:"cds-origins" env:"EVENREACH_CDS_ORIGINS" placeholder:"ORIGIN,..." help:"The origins of web pages that may call CDS Hooks from a browser (none)."`
}

// HookConfig is a checked configuration of CDS Hooks.
type HookConfig struct {
	Clients *auth.HookClients // nil for everybody
	Fetcher *cdshooks.Fetcher
	Origins []string
}

// resolveHooks reads the configuration of CDS Hooks; nil for none.
func (s Serve) resolveHooks(r *resolver) *HookConfig {
	open := r.boolean("insecure-no-auth", s.InsecureNoAuth)
	if r.boolean("no-cds-hooks", s.HooksOff) || !open && s.HookClients == "" {
		return nil
	}
	c := &HookConfig{Fetcher: s.fetcher(r)}
	for _, origin := range list(s.HookOrigins) {
		if u, err := url.Parse(origin); err != nil || u.Host == "" || u.Path != "" || u.Scheme != "https" && u.Scheme != "http" {
			r.report("cds-origins", "found %q; expected an origin such as https://ehr.hospital.example", origin)
		}
		c.Origins = append(c.Origins, origin)
	}
	if s.HookClients == "" {
		return c
	}
	if u, err := url.Parse(s.HookBase); err != nil || u.Host == "" || strings.HasSuffix(s.HookBase, "/") {
		r.report("cds-base", "found %q; expected the address before /cds-services, such as https://evenreach.hospital.example", s.HookBase)
	}
	c.Clients = &auth.HookClients{Clients: r.hookClients(s.HookClients), Base: s.HookBase, Algorithms: r.algorithms(s.Algorithms), HTTP: &http.Client{Transport: r.authorities("auth-ca", s.KeysCA)}}
	return c
}

// hookClients reads ISS=JWKS pairs.
func (r *resolver) hookClients(text string) (clients []auth.Issuer) {
	for _, pair := range list(text) {
		name, keys, _ := strings.Cut(pair, "=")
		if name == "" || !isSafe(keys) {
			r.report("cds-clients", "found %q; expected ISS=JWKS, where JWKS is an https address (http on the loopback interface only)", pair)
		}
		clients = append(clients, auth.Issuer{Name: name, Keys: keys})
	}
	return clients
}

// fetcher asks the servers that are allowed.
func (h Hooks) fetcher(r *resolver) *cdshooks.Fetcher {
	servers := list(h.HookServers)
	for _, server := range servers {
		if !isSafe(server) {
			r.report("cds-fhir-servers", "found %q; expected an https address (http on the loopback interface only)", server)
		}
	}
	return cdshooks.NewFetcher(servers, r.authorities("cds-fhir-ca", h.HookServerCA).Direct())
}
