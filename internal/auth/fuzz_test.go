package auth

import (
	"context"
	"log/slog"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/ops"
)

// FuzzAuthenticate looks for a header that makes the service panic, or that
// lets in somebody who does not hold the token.
func FuzzAuthenticate(f *testing.F) {
	a := New(Config{
		Issuers:    []Issuer{{issuerName, issuerName + "/keys"}},
		Audience:   authtest.Audience,
		Algorithms: []jose.SignatureAlgorithm{jose.RS384, jose.ES384},
		HTTP:       &http.Client{},
	}, ops.NewAuthMetrics(prometheus.NewRegistry()), slog.New(slog.DiscardHandler))
	keys, err := parseKeys(authtest.KeySet())
	if err != nil {
		f.Fatal(err)
	}
	a.sources[issuerName].keys.Store(&keySet{keys, time.Now().Add(time.Hour)})
	good := authtest.New(issuerName).Sign(f)
	header, rest, _ := strings.Cut(good, ".")
	payload, _, _ := strings.Cut(rest, ".")
	for _, seed := range []string{"", "Bearer", "Bearer " + good[:len(good)/2], "bearer " + good + ".", "Bearer " + header + "." + payload + ".", "Bearer {}", "Bearer a.b.c.d.e"} {
		f.Add(seed)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel() // nobody waits for keys
	f.Fuzz(func(t *testing.T, authorization string) {
		caller, err := a.Authenticate(ctx, Credentials{Authorization: []string{authorization}})
		if err == nil && !strings.Contains(authorization, good[:strings.LastIndexByte(good, '.')]) {
			t.Errorf("%+v is let in by %q", caller, authorization)
		}
		if err != nil && reasonOf(err) == "" {
			t.Errorf("an error that is no refusal: %v", err)
		}
	})
}

// FuzzKeySet looks for a key set that makes the service panic or keep a key
// that cannot verify.
func FuzzKeySet(f *testing.F) {
	f.Add(authtest.KeySet())
	f.Add([]byte(`{"keys":[{"kty":"EC","kid":"a","crv":"P-256","x":"AQ","y":"AQ"}]}`))
	f.Add([]byte(`{"keys":[{"kty":"RSA","kid":"a","n":"AQ","e":"AQ"}]}`))
	f.Fuzz(func(t *testing.T, set []byte) {
		keys, err := parseKeys(set)
		if (err == nil) != (len(keys) > 0) {
			t.Errorf("%d keys, error %v", len(keys), err)
		}
		for _, key := range keys {
			if !key.IsPublic() || key.KeyID == "" {
				t.Errorf("kept %+v", key)
			}
		}
	})
}

// FuzzScope looks for a scope that makes the service panic, or that covers
// without saying so.
func FuzzScope(f *testing.F) {
	for _, seed := range []string{"system/Observation.rs", "user/*.read", "patient/Observation.rs", "system/Observation.rs?a=b", "/.", "system/Observation.r system/*.s"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, scope string) {
		if covers(scope) && !strings.Contains(scope, "system/") && !strings.Contains(scope, "user/") {
			t.Errorf("%q covers", scope)
		}
	})
}
