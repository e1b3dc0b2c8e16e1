package auth

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/tls"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	"evenreach.example/internal/auth/authtest"
)

// vouched is a server whose certificate is its own authority, and that.
func vouched(t *testing.T, key *ecdsa.PrivateKey) (address string, authority []byte) {
	t.Helper()
	authority = certify(t, "issuer.example", key)
	certificate, err := tls.X509KeyPair(authority, keyOf(t, key))
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewUnstartedServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}))
	server.TLS = &tls.Config{MinVersion: tls.VersionTLS12, Certificates: []tls.Certificate{certificate}}
	server.Config.ErrorLog = slog.NewLogLogger(slog.DiscardHandler, slog.LevelInfo)
	server.StartTLS()
	t.Cleanup(server.Close)
	return server.URL, authority
}

// reach asks a server that is called issuer.example, and reports whether its
// certificate is trusted.
func reach(t *testing.T, a *Authorities, address string) bool {
	t.Helper()
	r, err := http.NewRequestWithContext(context.Background(), http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	a.mu.Lock()
	a.transport.TLSClientConfig.ServerName = "issuer.example"
	a.mu.Unlock()
	answer, err := a.RoundTrip(r)
	if err != nil {
		return false
	}
	_, _ = io.Copy(io.Discard, answer.Body)
	_ = answer.Body.Close()
	return true
}

// The file of a ConfigMap or Secret changes while the process runs, and keys must go on
// being fetched.
func TestAuthoritiesAreReplaced(t *testing.T) {
	before, oldAuthority := vouched(t, authtest.P256())
	after, newAuthority := vouched(t, authtest.P384())
	file := filepath.Join(t.TempDir(), "ca.crt")
	put(t, file, oldAuthority)
	a, err := ReadAuthorities(file)
	if err != nil {
		t.Fatal(err)
	}
	var log bytes.Buffer
	a.Log(slog.New(slog.NewJSONHandler(&log, nil)))
	if !reach(t, a, before) || reach(t, a, after) {
		t.Error("at first: want the old server trusted and the new one not")
	}
	put(t, file, newAuthority)
	_ = a.current()
	if reach(t, a, before) || !reach(t, a, after) {
		t.Error("after the rotation: want the new server trusted and the old one not")
	}
	last := a.LastReload()
	if last.Refused || last.Read.IsZero() {
		t.Errorf("after the rotation the last reload is %+v, want one at some time", last)
	}
	put(t, file, []byte("no certificate"))
	reloaded(t, "a broken replacement", a.LastReload(), true, last.Read)
	if !reach(t, a, after) || !strings.Contains(log.String(), "not replaced") {
		t.Errorf("a broken replacement: want the last good one, and a line that says so: %s", &log)
	}
	put(t, file, newAuthority)
	reloaded(t, "as before the broken one", a.LastReload(), false, last.Read)
}

func TestAuthoritiesThatCannotBeRead(t *testing.T) {
	broken := filepath.Join(t.TempDir(), "broken.crt")
	put(t, broken, []byte("no certificate"))
	long := filepath.Join(t.TempDir(), "long.crt")
	put(t, long, bytes.Repeat([]byte("x"), maxAuthorities+1))
	for _, file := range []string{broken, long, filepath.Join(t.TempDir(), "absent.crt")} {
		if _, err := ReadAuthorities(file); err == nil || !strings.Contains(err.Error(), file) {
			t.Errorf("%s: %v, want an error that names it", file, err)
		}
	}
}

// Connections with TLS alone follow the file too, and check the name of the server.
func TestAuthoritiesOfConnections(t *testing.T) {
	address, authority := vouched(t, authtest.P256())
	_, another := vouched(t, authtest.P384())
	file := filepath.Join(t.TempDir(), "ca.crt")
	put(t, file, authority)
	a, err := ReadAuthorities(file)
	if err != nil {
		t.Fatal(err)
	}
	dial := func(name string) error {
		a.current().TLSClientConfig.ServerName = name
		conn, err := a.DialContext(t.Context(), "tcp", strings.TrimPrefix(address, "https://"))
		if err == nil {
			_ = conn.Close()
		}
		return err
	}
	if err := dial("issuer.example"); err != nil {
		t.Errorf("a server that is vouched for: %v", err)
	}
	if err := dial(""); err == nil {
		t.Error("a server of another name is trusted")
	}
	put(t, file, another)
	if err := dial("issuer.example"); err == nil {
		t.Error("a server is trusted for which nobody vouches any more")
	}
}

// Answers about patients go to the configured server and through no proxy.
func TestDirectAuthoritiesUseNoProxy(t *testing.T) {
	file := filepath.Join(t.TempDir(), "ca.crt")
	put(t, file, certify(t, "a.example", authtest.P256()))
	for _, name := range []string{"", file} {
		a, err := ReadAuthorities(name)
		if err != nil {
			t.Fatal(err)
		}
		if a.current().Proxy == nil {
			t.Errorf("%q: no proxy is used", name)
		}
		if a.Direct().current().Proxy != nil {
			t.Errorf("%q: a proxy is used", name)
		}
		if name == "" {
			continue
		}
		put(t, file, certify(t, "b.example", authtest.P256()))
		if a.current().Proxy != nil {
			t.Error("a proxy is used after the file was replaced")
		}
	}
}
