package auth

import (
	"strings"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"

	"evenreach.example/internal/auth/authtest"
)

func TestWhichKeysAreTaken(t *testing.T) {
	rsa, ec := authtest.RSA(), authtest.P384()
	tests := []struct {
		name   string
		set    []byte
		taken  int
		source string
	}{
		{"those of an issuer", authtest.KeySet(), 2, "RFC 7517"},
		{"for encryption", authtest.Published(jose.JSONWebKey{Key: rsa.Public(), KeyID: "a", Use: "enc"}), 0, "RFC 7517, 4.2"},
		{"without an id", authtest.Published(jose.JSONWebKey{Key: rsa.Public()}), 0, "SMART: kid is required"},
		{"symmetric", authtest.Published(jose.JSONWebKey{Key: []byte("secret"), KeyID: "a"}), 0, "whoever reads the set could sign"},
		{"private", authtest.Published(jose.JSONWebKey{Key: ec, KeyID: "a"}), 0, "whoever reads the set could sign"},
		{"short", authtest.Published(jose.JSONWebKey{Key: authtest.Short().Public(), KeyID: "a"}), 0, "RFC 7518, 3.3: at least 2048 bits"},
		{"unknown kind among others", []byte(`{"keys":[{"kty":"XYZ","kid":"x"},` + strings.TrimPrefix(string(authtest.KeySet()), `{"keys":[`)), 2, "RFC 7517, 5: unknown kinds are passed over"},
		{"not on its curve", []byte(`{"keys":[{"kty":"EC","kid":"a","crv":"P-256","x":"AQ","y":"AQ"}]}`), 0, "RFC 7518, 6.2"},
		{"none", []byte(`{"keys":[]}`), 0, "nothing could be verified"},
		{"no set", []byte(`{}`), 0, "RFC 7517, 5"},
		{"a page", []byte(`<html>sign in</html>`), 0, "a proxy's page"},
		{"nothing", nil, 0, "an empty answer"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			keys, err := parseKeys(tt.set)
			if len(keys) != tt.taken || (err == nil) != (tt.taken > 0) {
				t.Errorf("%d keys, error %v, want %d keys (%s)", len(keys), err, tt.taken, tt.source)
			}
		})
	}
}

func TestFind(t *testing.T) {
	rsa := authtest.RSA().Public()
	set := &keySet{until: time.Now().Add(time.Hour), keys: []jose.JSONWebKey{
		{Key: rsa, KeyID: "rsa"},
		{Key: rsa, KeyID: "for RS256 only", Algorithm: "RS256"},
		{Key: authtest.P384().Public(), KeyID: "p384"},
		{Key: authtest.P256().Public(), KeyID: "p256"},
		{Key: rsa, KeyID: "twice"},
		{Key: rsa, KeyID: "twice"},
		{Key: rsa, KeyID: "kinds"},
		{Key: authtest.P384().Public(), KeyID: "kinds"},
	}}
	tests := []struct {
		kid       string
		algorithm jose.SignatureAlgorithm
		found     bool
	}{
		{"rsa", jose.RS384, true},
		{"rsa", jose.PS256, true},
		{"rsa", jose.ES384, false},
		{"rsa", jose.HS256, false},
		{"for RS256 only", jose.RS256, true},
		{"for RS256 only", jose.RS384, false},
		{"p384", jose.ES384, true},
		{"p384", jose.ES256, false},
		{"p384", jose.RS384, false},
		{"p256", jose.ES256, true},
		{"p256", jose.ES384, false},
		{"twice", jose.RS384, false},
		{"kinds", jose.RS384, true},
		{"kinds", jose.ES384, true},
		{"absent", jose.RS384, false},
		{"", jose.RS384, false},
	}
	for _, tt := range tests {
		t.Run(tt.kid+" "+string(tt.algorithm), func(t *testing.T) {
			if _, found := set.find(tt.kid, tt.algorithm); found != tt.found {
				t.Errorf("found %v, want %v", found, tt.found)
			}
		})
	}
	set.until = time.Now()
	if _, found := set.find("rsa", jose.RS384); found {
		t.Error("a key of a set that has expired was found")
	}
}
