package auth

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/ops"
)

// Callers with tokens and clients of CDS Hooks are let in by one process, also if one server issues both.
func TestIssuersOfCallersAndHooksShareMetrics(t *testing.T) {
	registry := prometheus.NewRegistry()
	metrics, log := ops.NewAuthMetrics(registry), slog.New(slog.DiscardHandler)
	New(Config{Issuers: []Issuer{{Name: "https://id.example"}, {Name: "https://both.example"}}, HTTP: http.DefaultClient}, metrics, log)
	NewHooks(HookClients{Clients: []Issuer{{Name: "https://ehr.example"}, {Name: "https://both.example"}}, HTTP: http.DefaultClient}, metrics, log)
	found, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	issuers := 0
	for _, family := range found {
		if family.GetName() == "evenreach_jwks_usable" {
			issuers = len(family.GetMetric())
		}
	}
	if issuers != 3 {
		t.Errorf("of %d issuers it is told whether their keys can be used, want 3", issuers)
	}
}

const hookBase = "https://evenreach.hospital.example"

// Each case is what CDS Hooks 2.0 says of the tokens of clients, in "trusting CDS clients".
func TestTokensOfHooks(t *testing.T) {
	keys := httptest.NewServer(authtest.Serve(authtest.KeySet()))
	t.Cleanup(keys.Close)
	a := NewHooks(HookClients{
		Clients: []Issuer{{Name: "https://ehr.example", Keys: keys.URL}}, Base: hookBase,
		Algorithms: []jose.SignatureAlgorithm{jose.ES384, jose.RS384}, HTTP: http.DefaultClient,
	}, ops.NewAuthMetrics(prometheus.NewRegistry()), slog.New(slog.DiscardHandler))
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan struct{})
	go func() { defer close(done); a.Run(ctx) }()
	t.Cleanup(func() { cancel(); <-done })

	const path = "/cds-services/shoulder-recheck"
	in := func(d time.Duration) int64 { return time.Now().Add(d).Unix() }
	tests := []struct {
		name   string
		claims map[string]any
		want   Reason
	}{
		{"as it should be", map[string]any{"jti": "a"}, ""},
		{"the same again", map[string]any{"jti": "a"}, Replayed},
		{"the endpoint among others", map[string]any{"jti": "b", "aud": []string{"https://x.example", hookBase + path}}, ""},
		{"another endpoint", map[string]any{"jti": "c", "aud": hookBase + "/cds-services"}, Audience},
		{"the base alone", map[string]any{"jti": "d", "aud": hookBase}, Audience},
		{"no jti", map[string]any{"jti": nil}, Malformed},
		{"no iat", map[string]any{"jti": "e", "iat": nil}, Malformed},
		{"no exp", map[string]any{"jti": "f", "exp": nil}, Malformed},
		{"expired", map[string]any{"jti": "g", "exp": in(-2 * time.Minute)}, Expired},
		{"valid for too long", map[string]any{"jti": "h", "exp": in(time.Hour)}, Malformed},
		{"another client", map[string]any{"jti": "i", "iss": "https://evil.example"}, UnknownIss},
	}
	for jku, want := range map[string]Reason{keys.URL: "", "https://evil.example/keys": UnknownKey} {
		token := authtest.New("https://ehr.example").With(map[string]any{"aud": hookBase + path, "scope": nil, "client_id": nil, "jti": jku})
		token.Type, token.Headers = "JWT", map[string]any{"jku": jku}
		if _, reason := a.validate(t.Context(), []string{"Bearer " + token.Sign(t)}, path); reason != want {
			t.Errorf("jku %s: found %q, want %q", jku, reason, want)
		}
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			token := authtest.New("https://ehr.example").With(map[string]any{"aud": hookBase + path, "scope": nil, "client_id": nil}).With(tt.claims)
			token.Type = "JWT"
			_, reason := a.validate(t.Context(), []string{"Bearer " + token.Sign(t)}, path)
			if reason != tt.want {
				t.Errorf("found %q, want %q", reason, tt.want)
			}
		})
	}
	if _, err := a.Authenticate(t.Context(), nil, path); err == nil {
		t.Error("a call without a token is let in")
	}
}

// Beyond the bound calls are refused for the moment, until tokens expire: none is let in
// twice.
func TestRememberedTokensAreBounded(t *testing.T) {
	now := time.Now()
	a := &HookAuthenticator{used: map[jti]time.Time{}}
	for i := range maxUsed {
		if got := a.first(jti{"c", fmt.Sprint(i)}, now.Add(time.Minute), now); got != "" {
			t.Fatalf("token %d: refused for %q", i, got)
		}
	}
	if got := a.first(jti{"c", "more"}, now.Add(time.Minute), now); got != KeysNotThere {
		t.Errorf("one more: refused for %q, want %q", got, KeysNotThere)
	}
	if got := a.first(jti{"c", "0"}, now.Add(time.Minute), now); got != Replayed {
		t.Errorf("the first again: refused for %q, want %q", got, Replayed)
	}
	later := now.Add(time.Minute + time.Second)
	if got := a.first(jti{"c", "more"}, later.Add(time.Minute), later); got != "" || len(a.used) != 1 {
		t.Errorf("once they have expired: refused for %q with %d remembered, want it let in alone", got, len(a.used))
	}
}
