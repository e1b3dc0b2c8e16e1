// Package authtest is an invented authorization server for tests.
package authtest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"encoding/json"
	"maps"
	"net/http"
	"sync"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
)

// Audience is the base URL of the service under test.
const Audience = "https://evenreach.hospital.example/fhir"

// ClientID is the client that tokens are given to.
const ClientID = "record-of-the-test"

// Keys are those that an Issuer signs with. They are the same for all tests of
// a run, because making them takes long.
var (
	RSA   = sync.OnceValue(func() *rsa.PrivateKey { return must(rsa.GenerateKey(rand.Reader, 2048)) })
	Short = sync.OnceValue(func() *rsa.PrivateKey { return must(rsa.GenerateKey(rand.Reader, 1024)) })
	P384  = sync.OnceValue(func() *ecdsa.PrivateKey { return must(ecdsa.GenerateKey(elliptic.P384(), rand.Reader)) })
	P256  = sync.OnceValue(func() *ecdsa.PrivateKey { return must(ecdsa.GenerateKey(elliptic.P256(), rand.Reader)) })
)

func must[T any](key T, err error) T {
	if err != nil {
		panic(err)
	}
	return key
}

// A Token is an access token before it is signed.
type Token struct {
	Algorithm jose.SignatureAlgorithm
	KeyID     string
	Key       any
	Type      string
	Headers   map[string]any // further ones of the token
	Claims    map[string]any
}

// New returns a token of an issuer that a service accepts.
func New(issuer string) Token {
	now := time.Now()
	return Token{
		Algorithm: jose.ES384,
		KeyID:     "ec",
		Key:       P384(),
		Type:      "at+jwt",
		Claims: map[string]any{
			"iss": issuer, "aud": Audience, "client_id": ClientID, "sub": ClientID,
			"iat": now.Unix(), "nbf": now.Unix(), "exp": now.Add(5 * time.Minute).Unix(),
			"scope": "system/Observation.rs", "jti": "1",
		},
	}
}

// With returns the token with other claims; a nil one takes the claim away.
func (t Token) With(claims map[string]any) Token {
	t.Claims = maps.Clone(t.Claims)
	for name, value := range claims {
		t.Claims[name] = value
		if value == nil {
			delete(t.Claims, name)
		}
	}
	return t
}

// Sign signs the token.
func (t Token) Sign(tb testing.TB) string {
	tb.Helper()
	options := &jose.SignerOptions{}
	if t.Type != "" {
		options.WithType(jose.ContentType(t.Type))
	}
	for name, value := range t.Headers {
		options.WithHeader(jose.HeaderKey(name), value)
	}
	signer, err := jose.NewSigner(jose.SigningKey{Algorithm: t.Algorithm, Key: jose.JSONWebKey{Key: t.Key, KeyID: t.KeyID}}, options)
	if err != nil {
		tb.Fatal(err)
	}
	payload, err := json.Marshal(t.Claims)
	if err != nil {
		tb.Fatal(err)
	}
	signed, err := signer.Sign(payload)
	if err != nil {
		tb.Fatal(err)
	}
	text, err := signed.CompactSerialize()
	if err != nil {
		tb.Fatal(err)
	}
	return text
}

// KeySet is what an issuer publishes: an RSA key under "rsa", one on P-384
// under "ec".
func KeySet() []byte {
	return Published(
		jose.JSONWebKey{Key: RSA().Public(), KeyID: "rsa", Use: "sig"},
		jose.JSONWebKey{Key: P384().Public(), KeyID: "ec", Use: "sig", Algorithm: "ES384"})
}

// Published is a key set of some keys.
func Published(keys ...jose.JSONWebKey) []byte {
	return must(json.Marshal(jose.JSONWebKeySet{Keys: keys}))
}

// Serve answers with a key set.
func Serve(set []byte) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "application/json")
		w.Header().Set("Cache-Control", "max-age=300")
		_, _ = w.Write(set)
	})
}
