package auth

import (
	"crypto/ecdsa"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"math/big"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/ops"
)

// certify makes a certificate of a name, signed by its own key.
func certify(t *testing.T, name string, key *ecdsa.PrivateKey) []byte {
	t.Helper()
	template := &x509.Certificate{
		SerialNumber:          big.NewInt(1),
		Subject:               pkix.Name{CommonName: name},
		DNSNames:              []string{name},
		NotBefore:             time.Now().Add(-time.Hour),
		NotAfter:              time.Now().Add(24 * time.Hour),
		IsCA:                  true,
		BasicConstraintsValid: true,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
}

func keyOf(t *testing.T, key *ecdsa.PrivateKey) []byte {
	t.Helper()
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: der})
}

func put(t *testing.T, file string, text []byte) {
	t.Helper()
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
}

// onDisk writes a certificate of a name and returns the files.
func onDisk(t *testing.T, name string) Files {
	t.Helper()
	dir := t.TempDir()
	files := Files{Certificate: filepath.Join(dir, "tls.crt"), Key: filepath.Join(dir, "tls.key")}
	put(t, files.Certificate, certify(t, name, authtest.P256()))
	put(t, files.Key, keyOf(t, authtest.P256()))
	return files
}

// shake makes a handshake and returns what each side says to it.
func shake(t *testing.T, server, client *tls.Config) (state tls.ConnectionState, serverErr, clientErr error) {
	t.Helper()
	a, b := net.Pipe()
	defer a.Close()
	defer b.Close()
	done := make(chan error, 1)
	go func() {
		err := tls.Server(a, server).HandshakeContext(t.Context())
		done <- err
		if err != nil {
			_ = a.Close()
		}
	}()
	conn := tls.Client(b, client)
	clientErr = conn.HandshakeContext(t.Context())
	state = conn.ConnectionState()
	return state, <-done, clientErr
}

// trusting verifies nothing: what is served is the question.
func trusting() *tls.Config {
	return &tls.Config{InsecureSkipVerify: true, MinVersion: tls.VersionTLS10}
}

// served is the name in the certificate that is served.
func served(t *testing.T, c *Certificates) string {
	t.Helper()
	state, serverErr, clientErr := shake(t, c.Config(), trusting())
	if serverErr != nil || clientErr != nil {
		t.Fatalf("handshake: server %v, client %v", serverErr, clientErr)
	}
	return state.PeerCertificates[0].Subject.CommonName
}

// reloaded wants what became of the last reload, and when what is in use was read.
func reloaded(t *testing.T, when string, got ops.Reload, refused bool, read time.Time) {
	t.Helper()
	if got.Refused != refused || !got.Read.Equal(read) {
		t.Errorf("%s: refused %v, read at %v; want %v and %v", when, got.Refused, got.Read, refused, read)
	}
}

func TestCertificateIsReplaced(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		files := onDisk(t, "first.example")
		certificates, err := ReadCertificates(files)
		if err != nil {
			t.Fatal(err)
		}
		if got := served(t, certificates); got != "first.example" {
			t.Fatalf("%s is served, want first.example", got)
		}
		reloaded(t, "at first", certificates.LastReload(), false, time.Now())
		put(t, files.Certificate, certify(t, "second.example", authtest.P256()))
		time.Sleep(checkInterval)
		if got := served(t, certificates); got != "second.example" {
			t.Errorf("%s is served after the replacement, want second.example", got)
		}
		second := time.Now()
		reloaded(t, "after the replacement", certificates.LastReload(), false, second)
		put(t, files.Certificate, certify(t, "third.example", authtest.P384()))
		time.Sleep(checkInterval)
		if got := served(t, certificates); got != "second.example" {
			t.Errorf("%s is served while certificate and key do not fit, want second.example", got)
		}
		reloaded(t, "while they do not fit", certificates.LastReload(), true, second)
		put(t, files.Key, keyOf(t, authtest.P384()))
		time.Sleep(checkInterval)
		if got := served(t, certificates); got != "third.example" {
			t.Errorf("%s is served once the key is there too, want third.example", got)
		}
		third := time.Now()
		reloaded(t, "once they fit", certificates.LastReload(), false, third)
		if err := os.Remove(files.Key); err != nil {
			t.Fatal(err)
		}
		time.Sleep(checkInterval)
		if got := served(t, certificates); got != "third.example" {
			t.Errorf("%s is served without files, want third.example", got)
		}
		reloaded(t, "without files", certificates.LastReload(), true, third)
		if want := time.Now().Add(24 * time.Hour); want.Sub(certificates.Expiry()) > time.Minute {
			t.Errorf("expiry %v, want about %v", certificates.Expiry(), want)
		}
	})
}

// Source: RFC 8996 for 1.1; SMART App Launch: TLS 1.2 or later.
func TestVersions(t *testing.T) {
	certificates, err := ReadCertificates(onDisk(t, "evenreach.example"))
	if err != nil {
		t.Fatal(err)
	}
	for version, accepted := range map[uint16]bool{tls.VersionTLS10: false, tls.VersionTLS11: false, tls.VersionTLS12: true, tls.VersionTLS13: true} {
		client := trusting()
		client.MaxVersion = version
		_, serverErr, _ := shake(t, certificates.Config(), client)
		if (serverErr == nil) != accepted {
			t.Errorf("%s: error %v, want accepted: %v", tls.VersionName(version), serverErr, accepted)
		}
	}
}

func TestClientCertificates(t *testing.T) {
	files := onDisk(t, "evenreach.example")
	files.ClientCA = filepath.Join(t.TempDir(), "ca.crt")
	authority := certify(t, "record.example", authtest.P384())
	put(t, files.ClientCA, authority)
	certificates, err := ReadCertificates(files)
	if err != nil {
		t.Fatal(err)
	}
	known, err := tls.X509KeyPair(authority, keyOf(t, authtest.P384()))
	if err != nil {
		t.Fatal(err)
	}
	stranger, err := tls.X509KeyPair(certify(t, "record.example", authtest.P256()), keyOf(t, authtest.P256()))
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name     string
		with     []tls.Certificate
		accepted bool
	}{
		{"of the authority", []tls.Certificate{known}, true},
		{"of another of the same name", []tls.Certificate{stranger}, false},
		{"none", nil, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			client := trusting()
			client.GetClientCertificate = func(*tls.CertificateRequestInfo) (*tls.Certificate, error) {
				if tt.with == nil {
					return &tls.Certificate{}, nil
				}
				return &tt.with[0], nil
			}
			client.MaxVersion = tls.VersionTLS12 // where the server judges before the client is done
			_, serverErr, _ := shake(t, certificates.Config(), client)
			if (serverErr == nil) != tt.accepted {
				t.Errorf("error %v, want accepted: %v", serverErr, tt.accepted)
			}
		})
	}
}

// Another authority for clients' certificates is taken up, and the old one given up.
func TestClientAuthorityIsReplaced(t *testing.T) {
	files := onDisk(t, "evenreach.example")
	files.ClientCA = filepath.Join(t.TempDir(), "ca.crt")
	old, fresh := certify(t, "old.example", authtest.P384()), certify(t, "new.example", authtest.P256())
	put(t, files.ClientCA, old)
	certificates, err := ReadCertificates(files)
	if err != nil {
		t.Fatal(err)
	}
	for _, authority := range [][]byte{old, fresh} {
		put(t, files.ClientCA, authority)
		certificates.checked = time.Time{} // as if the interval were over
		want := x509.NewCertPool()
		want.AppendCertsFromPEM(authority)
		if got := certificates.current(); !got.ClientCAs.Equal(want) || got.ClientAuth != tls.RequireAndVerifyClientCert {
			t.Error("want clients of the authority in the file asked for, and no others")
		}
	}
}

func TestFilesThatAreWrong(t *testing.T) {
	good := onDisk(t, "evenreach.example")
	absent := good
	absent.Key = filepath.Join(t.TempDir(), "absent")
	other := good
	other.Key = filepath.Join(t.TempDir(), "other")
	put(t, other.Key, keyOf(t, authtest.P384()))
	authorities := good
	authorities.ClientCA = good.Key
	for name, files := range map[string]Files{absent.Key: absent, other.Key: other, authorities.ClientCA: authorities} {
		if _, err := ReadCertificates(files); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("error %v, want one that names %s", err, name)
		}
	}
}
