package main

import (
	"bytes"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/api/httpbody"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/metadata"
	"google.golang.org/grpc/status"

	evenreachv1 "evenreach.example/api/evenreach/v1"
	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/program"
)

const issuerName = "https://id.hospital.example"

// certificate writes a certificate for the loopback interface with its key,
// and returns the files and who trusts them.
func certificate(t *testing.T) (cert, key string, pool *x509.CertPool, pair tls.Certificate) {
	t.Helper()
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), NotAfter: time.Now().Add(time.Hour),
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}, IsCA: true, BasicConstraintsValid: true,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, authtest.P256().Public(), authtest.P256())
	if err != nil {
		t.Fatal(err)
	}
	private, err := x509.MarshalPKCS8PrivateKey(authtest.P256())
	if err != nil {
		t.Fatal(err)
	}
	certPEM := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	keyPEM := pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: private})
	cert, key = filepath.Join(t.TempDir(), "tls.crt"), filepath.Join(t.TempDir(), "tls.key")
	for file, text := range map[string][]byte{cert: certPEM, key: keyPEM} {
		if err := os.WriteFile(file, text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	pool = x509.NewCertPool()
	pool.AppendCertsFromPEM(certPEM)
	if pair, err = tls.X509KeyPair(certPEM, keyPEM); err != nil {
		t.Fatal(err)
	}
	return cert, key, pool, pair
}

// tokenFlags accept the tokens of an issuer that the test serves.
func tokenFlags(t *testing.T) []string {
	t.Helper()
	issuer := httptest.NewServer(authtest.Serve(authtest.KeySet()))
	t.Cleanup(issuer.Close)
	return []string{"--auth-issuers=" + issuerName + "=" + issuer.URL, "--auth-audience=" + authtest.Audience, "--auth-clients=" + authtest.ClientID}
}

func TestServeWithTokensAndMutualTLS(t *testing.T) {
	cert, key, pool, pair := certificate(t)
	p := begin(t, append(tokenFlags(t), "--tls-cert="+cert, "--tls-key="+key, "--tls-client-ca="+cert, "--drain-delay=0s")...)
	p.serves()
	known := &tls.Config{RootCAs: pool, Certificates: []tls.Certificate{pair}}
	token := authtest.New(issuerName).Sign(t)
	tests := []struct {
		name, token string
		status      int
		code        codes.Code
	}{
		{"good token", token, 200, codes.OK},
		{"no token", "", 401, codes.Unauthenticated},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := askREST(t, p, known, tt.token); got != tt.status {
				t.Errorf("REST: status %d, want %d", got, tt.status)
			}
			if got := status.Code(askGRPC(t, p, known, tt.token)); got != tt.code {
				t.Errorf("gRPC: code %v, want %v", got, tt.code)
			}
		})
	}
	stranger := &tls.Config{RootCAs: pool}
	if got := askREST(t, p, stranger, token); got != 0 {
		t.Errorf("REST: status %d without a client certificate, want no answer", got)
	}
	if err := askGRPC(t, p, stranger, token); status.Code(err) != codes.Unavailable {
		t.Errorf("gRPC: %v without a client certificate, want no connection", err)
	}
	_, metrics := p.get("/metrics")
	for _, want := range []string{
		`evenreach_token_refusals_total{reason="no-token"} 2`,
		`evenreach_jwks_fetches_total{issuer="` + issuerName + `",result="ok"} 1`,
		`evenreach_jwks_fetched_timestamp_seconds{issuer="` + issuerName + `"} `,
		`evenreach_tls_certificate_expiry_timestamp_seconds `,
	} {
		if !strings.Contains(metrics, want) {
			t.Errorf("/metrics does not say %s", want)
		}
	}
	p.terminate()
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
}

// A token that is bound to a certificate is good on its connection alone; with the flag no other token is.
//
// Source: RFC 8705, section 3.
func TestServeTokensBoundToACertificate(t *testing.T) {
	cert, key, pool, pair := certificate(t)
	secure := &tls.Config{RootCAs: pool, Certificates: []tls.Certificate{pair}}
	boundTo := func(certificate []byte) string {
		digest := sha256.Sum256(certificate)
		confirmed := map[string]any{"x5t#S256": base64.RawURLEncoding.EncodeToString(digest[:])}
		return authtest.New(issuerName).With(map[string]any{"cnf": confirmed}).Sign(t)
	}
	for _, required := range []bool{false, true} {
		p := begin(t, append(tokenFlags(t), "--tls-cert="+cert, "--tls-key="+key, "--tls-client-ca="+cert, "--drain-delay=0s", fmt.Sprintf("--auth-bound-tokens=%v", required))...)
		p.serves()
		for name, tt := range map[string]struct {
			token   string
			isLetIn bool
		}{
			"its own":          {boundTo(pair.Certificate[0]), true},
			"another's":        {boundTo([]byte("another certificate")), false},
			"bound to nothing": {authtest.New(issuerName).Sign(t), !required},
		} {
			want, code := http.StatusOK, codes.OK
			if !tt.isLetIn {
				want, code = http.StatusUnauthorized, codes.Unauthenticated
			}
			if got := askREST(t, p, secure, tt.token); got != want {
				t.Errorf("required %v, %s, REST: status %d, want %d", required, name, got, want)
			}
			if got := status.Code(askGRPC(t, p, secure, tt.token)); got != code {
				t.Errorf("required %v, %s, gRPC: code %v, want %v", required, name, got, code)
			}
		}
		p.terminate()
		if code := <-p.exit; code != program.OK {
			t.Errorf("exit code %d, want 0", code)
		}
	}
}

// askREST sends a request and returns the status, 0 for no answer.
func askREST(t *testing.T, p *process, secure *tls.Config, token string) int {
	t.Helper()
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: secure, DisableKeepAlives: true, ForceAttemptHTTP2: true}}
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, "https://"+p.HTTP+"/fhir/$assess-shoulder", bytes.NewReader(scenario(t)))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/fhir+json")
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	answer, err := client.Do(r)
	if err != nil {
		return 0
	}
	defer answer.Body.Close()
	if _, err := io.Copy(io.Discard, answer.Body); err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode
}

// askGRPC makes a call and returns its error.
func askGRPC(t *testing.T, p *process, secure *tls.Config, token string) error {
	t.Helper()
	conn, err := grpc.NewClient(p.GRPC, grpc.WithTransportCredentials(credentials.NewTLS(secure)))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	ctx := t.Context()
	if token != "" {
		ctx = metadata.AppendToOutgoingContext(ctx, "authorization", "Bearer "+token)
	}
	_, err = evenreachv1.NewAssessmentServiceClient(conn).AssessJSON(ctx, &httpbody.HttpBody{Data: scenario(t)})
	return err
}

func TestServeIsRefusedWithoutAuthentication(t *testing.T) {
	tests := []struct {
		name  string
		flags []string
		want  string
	}{
		{"nothing said", nil, "--auth-issuers (EVENREACH_AUTH_ISSUERS): found none"},
		{"everybody on every interface", []string{"--insecure-no-auth", "--http-address=:0"}, "--insecure-no-auth (EVENREACH_INSECURE_NO_AUTH): found --http-address"},
		{"everybody on every interface by gRPC", []string{"--insecure-no-auth", "--grpc-address=0.0.0.0:0"}, "--insecure-no-auth (EVENREACH_INSECURE_NO_AUTH): found --grpc-address"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var errors strings.Builder
			code := evenreach.Run(t.Context(), append([]string{"serve"}, tt.flags...), program.Streams{In: strings.NewReader(""), Out: io.Discard, Err: &errors})
			if code != program.Usage || !strings.Contains(errors.String(), tt.want) {
				t.Errorf("exit code %d, %q, want 2 and %q", code, &errors, tt.want)
			}
		})
	}
}

// freeAddress is an address on which nobody listened a moment ago.
func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// Without keys nobody could be let in, so no balancer should send anybody.
func TestNotReadyWithoutKeys(t *testing.T) {
	down := httptest.NewServer(http.NotFoundHandler())
	defer down.Close()
	admin := freeAddress(t)
	p := begin(t, "--auth-issuers="+issuerName+"="+down.URL, "--auth-audience="+authtest.Audience, "--admin-address="+admin, "--drain-delay=0s")
	p.Admin = admin
	p.waitFor("keys not fetched")
	if status, _ := p.get("/livez"); status != http.StatusOK {
		t.Errorf("/livez says %d, want 200: it is no reason to be killed", status)
	}
	if status, _ := p.get("/readyz"); status != http.StatusServiceUnavailable {
		t.Errorf("/readyz says %d without keys, want 503", status)
	}
	p.terminate()
	p.waitFor("stopped")
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
}
