package config

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"math/big"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"

	"evenreach.example/internal/auth"
)

func TestTokens(t *testing.T) {
	server, err := parse(t, map[string]string{
		"EVENREACH_AUTH_CLIENTS":    "record, engine",
		"EVENREACH_AUTH_ALGORITHMS": "ES384,PS256",
	}, "--auth-issuers=https://a.example=https://a.example/keys?use=sig, https://b.example=http://127.0.0.1:8099/keys").Resolve()
	if err != nil {
		t.Fatal(err)
	}
	got := server.Tokens
	want := []auth.Issuer{{Name: "https://a.example", Keys: "https://a.example/keys?use=sig"}, {Name: "https://b.example", Keys: "http://127.0.0.1:8099/keys"}}
	if !slices.Equal(got.Issuers, want) {
		t.Errorf("issuers %v, want %v", got.Issuers, want)
	}
	if got.Audience != "https://evenreach.hospital.example/fhir" || !slices.Equal(got.Clients, []string{"record", "engine"}) ||
		!slices.Equal(got.Algorithms, []jose.SignatureAlgorithm{jose.ES384, jose.PS256}) {
		t.Errorf("got %+v, want what was set", got)
	}
}

func TestAlgorithmsByDefault(t *testing.T) {
	server, err := parse(t, nil).Resolve()
	if err != nil {
		t.Fatal(err)
	}
	if server.Tokens.MaxLife != 2*time.Hour || server.Tokens.Bound {
		t.Errorf("got %+v, want a life of 2 h and no binding unless it is set", server.Tokens)
	}
	if want := []jose.SignatureAlgorithm{jose.RS384, jose.ES384}; !slices.Equal(server.Tokens.Algorithms, want) {
		t.Errorf("algorithms %v, want %v as SMART has them", server.Tokens.Algorithms, want)
	}
}

func TestAuthProblems(t *testing.T) {
	certificate, key := pair(t)
	tests := []struct {
		name  string
		flags []string
		want  string // in the error; empty for none
	}{
		{"none configured", []string{"--auth-issuers="}, "or --insecure-no-auth to let in everybody on the loopback interface"},
		{"no keys", []string{"--auth-issuers=https://id.example"}, "expected ISSUER=JWKS"},
		{"keys in the clear", []string{"--auth-issuers=https://id.example=http://id.example/keys"}, "expected ISSUER=JWKS"},
		{"keys in the clear under a name", []string{"--auth-issuers=https://id.example=http://localhost/keys"}, "expected ISSUER=JWKS"},
		{"keys in a file", []string{"--auth-issuers=https://id.example=file:///etc/keys"}, "expected ISSUER=JWKS"},
		{"password in the address", []string{"--auth-issuers=https://id.example=https://u:p@id.example/keys"}, "expected ISSUER=JWKS"},
		{"keys on loopback", []string{"--auth-issuers=https://id.example=http://[::1]/keys"}, ""},
		{"issuer twice", []string{"--auth-issuers=https://id.example=https://a.example,https://id.example=https://b.example"}, "again"},
		{"no audience", []string{"--auth-audience="}, "expected the base URL"},
		{"audience without host", []string{"--auth-audience=evenreach"}, "expected the base URL"},
		{"HMAC", []string{"--auth-algorithms=HS256"}, `--auth-algorithms (EVENREACH_AUTH_ALGORITHMS): found "HS256"`},
		{"none as algorithm", []string{"--auth-algorithms=none"}, `found "none"`},
		{"clients that are nobody", []string{"--auth-clients= , "}, `--auth-clients (EVENREACH_AUTH_CLIENTS): found " , ", which names nobody`},
		{"every client", []string{"--auth-clients="}, ""},
		{"no algorithm", []string{"--auth-algorithms=,"}, "found none; expected some of"},
		{"authorities absent", []string{"--auth-ca=" + filepath.Join(t.TempDir(), "absent")}, "--auth-ca (EVENREACH_AUTH_CA)"},
		{"authorities that are none", []string{"--auth-ca=" + write(t, "x")}, "found no certificate"},
		{"authorities", []string{"--auth-ca=" + certificate}, ""},

		{"nobody checked on loopback", []string{"--auth-issuers=", "--insecure-no-auth"}, ""},
		{"nobody checked on all interfaces", []string{"--auth-issuers=", "--insecure-no-auth", "--http-address=:8080"}, `--insecure-no-auth (EVENREACH_INSECURE_NO_AUTH): found --http-address ":8080"`},
		{"nobody checked on a network", []string{"--auth-issuers=", "--insecure-no-auth", "--grpc-address=10.0.0.5:9090"}, `found --grpc-address "10.0.0.5:9090"`},
		{"nobody checked on a name", []string{"--auth-issuers=", "--insecure-no-auth", "--http-address=localhost:8080"}, `found --http-address`},
		{"nobody checked by a word", []string{"--auth-issuers=", "--insecure-no-auth=yes"}, ""},
		{"neither yes nor no", []string{"--insecure-no-auth=maybe"}, `--insecure-no-auth (EVENREACH_INSECURE_NO_AUTH): found "maybe"; expected true or false`},
		{"everybody checked", []string{"--insecure-no-auth=false"}, ""},
		{"nobody checked beside issuers", []string{"--insecure-no-auth"}, "expected one of the two"},

		{"certificate", []string{"--tls-cert=" + certificate, "--tls-key=" + key, "--tls-client-ca=" + certificate}, ""},
		{"no TLS on every interface", []string{"--http-address=:8080"}, `--tls-cert (EVENREACH_TLS_CERT): found none, and --http-address ":8080", which others reach`},
		{"no TLS on a network by gRPC", []string{"--grpc-address=10.0.0.5:9090"}, `found none, and --grpc-address "10.0.0.5:9090"`},
		{"no TLS on a name", []string{"--http-address=localhost:8080"}, `found none, and --http-address "localhost:8080"`},
		{"no TLS on the loopback interface of version 6", []string{"--http-address=[::1]:8080"}, ""},
		{"no TLS, as stated", []string{"--http-address=:8080", "--insecure-no-tls"}, ""},
		{"TLS on every interface", []string{"--http-address=:8080", "--tls-cert=" + certificate, "--tls-key=" + key}, ""},
		{"TLS and none", []string{"--insecure-no-tls", "--tls-cert=" + certificate, "--tls-key=" + key}, "--insecure-no-tls (EVENREACH_INSECURE_NO_TLS): found --tls-cert as well"},
		{"TLS or not", []string{"--insecure-no-tls=perhaps"}, `--insecure-no-tls (EVENREACH_INSECURE_NO_TLS): found "perhaps"`},
		{"bound tokens without certificates", []string{"--auth-bound-tokens"}, "--auth-bound-tokens (EVENREACH_AUTH_BOUND_TOKENS): found no --tls-client-ca"},
		{"bound tokens", []string{"--auth-bound-tokens", "--tls-cert=" + certificate, "--tls-key=" + key, "--tls-client-ca=" + certificate}, ""},
		{"token endpoint", []string{"--smart-token-endpoint=https://id.example/token"}, ""},
		{"token endpoint in the clear", []string{"--smart-token-endpoint=http://id.example/token"}, "--smart-token-endpoint (EVENREACH_SMART_TOKEN_ENDPOINT): found"},
		{"life of tokens", []string{"--auth-max-token-life=long"}, `--auth-max-token-life (EVENREACH_AUTH_MAX_TOKEN_LIFE): found "long"`},
		{"certificate without key", []string{"--tls-cert=" + certificate}, "--tls-key (EVENREACH_TLS_KEY): found none"},
		{"client authorities alone", []string{"--tls-client-ca=" + certificate}, "--tls-cert (EVENREACH_TLS_CERT): found none"},
		{"key that is none", []string{"--tls-cert=" + certificate, "--tls-key=" + certificate}, "--tls-cert (EVENREACH_TLS_CERT): " + certificate},
		{"client authorities that are none", []string{"--tls-cert=" + certificate, "--tls-key=" + key, "--tls-client-ca=" + key}, "found no certificate"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := parse(t, nil, tt.flags...).Resolve()
			switch {
			case tt.want == "" && err != nil:
				t.Errorf("error %v, want none", err)
			case tt.want != "" && (err == nil || !strings.Contains(err.Error(), tt.want)):
				t.Errorf("error %v, want %q in it", err, tt.want)
			}
		})
	}
}

// pair writes a certificate and its key, and returns the files.
func pair(t *testing.T) (certificate, key string) {
	t.Helper()
	private, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{SerialNumber: big.NewInt(1), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true}
	signed, err := x509.CreateCertificate(rand.Reader, template, template, &private.PublicKey, private)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(private)
	if err != nil {
		t.Fatal(err)
	}
	return write(t, pemOf("CERTIFICATE", signed)), write(t, pemOf("PRIVATE KEY", secret))
}

func pemOf(kind string, der []byte) string {
	return string(pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}))
}
