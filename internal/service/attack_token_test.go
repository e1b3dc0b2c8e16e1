package service

import (
	"crypto/x509"
	"encoding/base64"
	"encoding/json"
	"encoding/pem"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
	"google.golang.org/grpc/codes"

	"evenreach.example/internal/auth/authtest"
)

// Attacks on authentication, each at all doors. The other attacks are in
// attack_http_test.go and attack_body_test.go.
func TestAttackByToken(t *testing.T) {
	h := guarded(t)
	client := h.dial()
	sign := func(change func(*authtest.Token)) []string {
		token := authtest.New(issuerName)
		change(&token)
		return []string{"Bearer " + token.Sign(t)}
	}
	claim := func(name string, value any) []string {
		return []string{"Bearer " + authtest.New(issuerName).With(map[string]any{name: value}).Sign(t)}
	}
	kid := func(id string) []string { return sign(func(t *authtest.Token) { t.KeyID = id }) }
	tests := []struct {
		name          string
		authorization []string
		status        int
		code          codes.Code
		challenge     string
		source        string
	}{
		{"the control", claim("jti", "2"), 200, codes.OK, "", "an honest token is let in"},
		{"no token", nil, 401, codes.Unauthenticated, `Bearer realm="evenreach"`, "RFC 6750, 3"},
		{"alg none", []string{"Bearer " + unsigned(t, "none")}, 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 2.1"},
		{"alg none in another case", []string{"Bearer " + unsigned(t, "nOnE")}, 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 2.1"},
		{"alg of ours without signature", []string{"Bearer " + unsigned(t, "ES384")}, 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 2.1"},
		{"HMAC with the public key", sign(func(token *authtest.Token) {
			token.Algorithm, token.Key, token.KeyID = jose.HS384, publicPEM(t), "rsa"
		}), 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 2.1"},
		{"HMAC with the published set", sign(func(t *authtest.Token) { t.Algorithm, t.Key, t.KeyID = jose.HS256, authtest.KeySet(), "ec" }), 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 2.1"},
		{"wrong aud: replayed from another service", claim("aud", "https://billing.hospital.example/fhir"), 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 2.7 and 3.9"},
		{"ID token", claim("aud", authtest.ClientID), 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 2.8"},
		{"expired", claim("exp", time.Now().Add(-2*time.Minute).Unix()), 401, codes.Unauthenticated, "invalid_token", "RFC 7519, 4.1.4"},
		{"never expires", claim("exp", nil), 401, codes.Unauthenticated, "invalid_token", "RFC 9068, 2.2"},
		{"not yet valid", claim("nbf", time.Now().Add(2*time.Minute).Unix()), 401, codes.Unauthenticated, "invalid_token", "RFC 7519, 4.1.5"},
		{"unknown issuer", claim("iss", "https://id.attacker.example"), 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 3.8"},
		{"one issuer for another", sign(func(t *authtest.Token) { *t = t.With(map[string]any{"iss": "https://other.hospital.example"}) }), 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 3.8: keys belong to an issuer"},
		{"kid as path", kid("../../../../dev/null"), 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 3.10"},
		{"kid as query", kid("ec' OR '1'='1"), 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 3.10"},
		{"kid as address", kid("https://id.attacker.example/keys"), 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 3.10"},
		{"kid with a zero byte", kid("ec\x00"), 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 3.10"},
		{"kid in another case", kid("EC"), 401, codes.Unauthenticated, "invalid_token", "RFC 7515, 4.1.4: case-sensitive"},
		{"missing scope", claim("scope", "system/Patient.rs"), 403, codes.PermissionDenied, "insufficient_scope", "RFC 6750, 3.1"},
		{"another client", claim("client_id", "stranger"), 403, codes.PermissionDenied, "Bearer", "allow-list"},
		{"two tokens", append(claim("jti", "1"), claim("jti", "2")...), 401, codes.Unauthenticated, "Bearer", "which counts would be a guess"},
		{"token over the limit", claim("padding", strings.Repeat("x", 16<<10)), 401, codes.Unauthenticated, "invalid_token", "our limit"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h.try(client, tt.authorization...).want(t, tt.status, tt.code, tt.challenge, tt.source)
		})
	}
	if !strings.Contains(h.log.String(), `"denied":"audience"`) {
		t.Errorf("the log does not say why: %s", h.log)
	}
	if strings.Contains(h.log.String(), "eyJ") {
		t.Errorf("the log holds a token: %s", h.log)
	}
}

// Keys and addresses of keys in a token are not looked at: a token that the
// attacker signed, with its own key beside it.
func TestAttackByKeyInTheToken(t *testing.T) {
	asked := make(chan string, 10)
	attacker := authtest.Serve(authtest.Published(jose.JSONWebKey{Key: authtest.P256().Public(), KeyID: "ec"}))
	h, callers := startGuarded(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasPrefix(r.URL.Path, "/attacker") {
			asked <- r.URL.Path
			attacker.ServeHTTP(w, r)
			return
		}
		twoIssuers().ServeHTTP(w, r)
	}))
	<-callers.Ready()
	client := h.dial()
	for name, options := range map[string]*jose.SignerOptions{
		"jwk": {EmbedJWK: true},
		"jku": (&jose.SignerOptions{}).WithHeader("jku", "https://id.attacker.example/attacker"),
		"x5u": (&jose.SignerOptions{}).WithHeader("x5u", "https://id.attacker.example/attacker"),
	} {
		signer, err := jose.NewSigner(jose.SigningKey{Algorithm: jose.ES256, Key: jose.JSONWebKey{Key: authtest.P256(), KeyID: "ec"}}, options)
		if err != nil {
			t.Fatal(err)
		}
		signed, err := signer.Sign(marshal(t, authtest.New(issuerName).Claims))
		if err != nil {
			t.Fatal(err)
		}
		compact, err := signed.CompactSerialize()
		if err != nil {
			t.Fatal(err)
		}
		t.Run(name, func(t *testing.T) {
			h.try(client, "Bearer "+compact).want(t, 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 3.10")
		})
	}
	if len(asked) != 0 {
		t.Errorf("the address of a token was asked: %s", <-asked)
	}
}

func TestAttackByTokenInTheAddress(t *testing.T) {
	h := guarded(t)
	token := authtest.New(issuerName).Sign(t)
	w := h.do(withQuery(request(text(t, good())), "access_token="+token))
	if w.Code != http.StatusUnauthorized {
		t.Errorf("status %d, want 401: a token in an address ends up in logs (RFC 6750, 5.3)", w.Code)
	}
	beside := withQuery(request(text(t, good()), "Authorization", "Bearer "+token), "access_token="+token)
	if w := h.do(beside); w.Code != http.StatusBadRequest || strings.Contains(w.Body.String(), token) {
		t.Errorf("status %d beside a good header, want 400 without the token: %s", w.Code, w.Body)
	}
	form := request("access_token="+token, "Content-Type", "application/x-www-form-urlencoded")
	if w := h.do(form); w.Code != http.StatusUnauthorized {
		t.Errorf("status %d for a token in a form, want 401", w.Code)
	}
	if strings.Contains(h.log.String(), token) || strings.Contains(h.scrape(), token) {
		t.Error("the token is in the log or in the metrics")
	}
}

func TestAttackByKeysThatHang(t *testing.T) {
	h, _ := startGuarded(t, http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { <-r.Context().Done() }))
	begin := time.Now()
	d := h.try(h.dial(), "Bearer "+authtest.New(issuerName).Sign(t))
	d.want(t, 503, codes.Unavailable, "", "nobody can be told from an attacker; the caller may try again")
	if took := time.Since(begin); took > 20*time.Second {
		t.Errorf("the answer took %v, want a bounded time", took)
	}
	if d.rest.Header().Get("Retry-After") == "" {
		t.Error("no Retry-After beside 503")
	}
}

func TestAttackByKeysThatLie(t *testing.T) {
	symmetric := jose.JSONWebKey{Key: []byte("a secret that everybody can read, of 48 bytes..."), KeyID: "ec"}
	h, _ := startGuarded(t, authtest.Serve(authtest.Published(symmetric)))
	token := authtest.New(issuerName)
	token.Algorithm, token.Key = jose.HS384, symmetric.Key
	client := h.dial()
	h.try(client, "Bearer "+token.Sign(t)).want(t, 401, codes.Unauthenticated, "invalid_token", "RFC 8725, 2.1")
	h.try(client, "Bearer "+authtest.New(issuerName).Sign(t)).want(t, 503, codes.Unavailable, "", "a set without a key for signatures is none")
}

// unsigned is a token with an algorithm in its header and no signature.
func unsigned(t *testing.T, algorithm string) string {
	t.Helper()
	header := marshal(t, object{"alg": algorithm, "kid": "ec", "typ": "at+jwt"})
	payload := marshal(t, authtest.New(issuerName).Claims)
	return base64.RawURLEncoding.EncodeToString(header) + "." + base64.RawURLEncoding.EncodeToString(payload) + "."
}

func marshal(t *testing.T, o object) []byte {
	t.Helper()
	b, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// publicPEM is the issuer's RSA key as everybody can read it.
func publicPEM(t *testing.T) []byte {
	t.Helper()
	der, err := x509.MarshalPKIXPublicKey(authtest.RSA().Public())
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: der})
}
