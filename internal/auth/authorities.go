package auth

import (
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"sync"
	"time"

	"evenreach.example/internal/ops"
)

// maxAuthorities bounds the file of the authorities, in bytes: those of a whole
// operating system have some two hundred thousand.
const maxAuthorities = 1 << 20

// Authorities connect to servers for which the authorities of a file vouch, by HTTP or by
// TLS alone. The file is read again with each request, of which there are few, so that it
// may be replaced at any time. A replacement that cannot be read is logged, and the last
// good one stays.
type Authorities struct {
	file  string
	log   *slog.Logger
	proxy func(*http.Request) (*url.URL, error)

	mu        sync.Mutex
	held      []byte // what the file held when it was last read
	transport *http.Transport
	last      ops.Reload
}

// ReadAuthorities reads a file in PEM; an empty name stands for the authorities of the
// system. The error names the file.
func ReadAuthorities(file string) (*Authorities, error) {
	a := &Authorities{file: file, log: slog.New(slog.DiscardHandler), proxy: http.ProxyFromEnvironment}
	if file == "" {
		a.transport = a.trusting(nil)
		return a, nil
	}
	if err := a.check(); err != nil {
		return nil, err
	}
	return a, nil
}

// Log sets the log to which replacements are written. Call it before the first request.
func (a *Authorities) Log(log *slog.Logger) { a.log = log }

// Direct makes requests go to their servers, past a proxy that the environment names. Call
// it before the first request.
func (a *Authorities) Direct() *Authorities {
	a.proxy, a.transport.Proxy = nil, nil
	return a
}

// DialContext opens a connection with TLS.
func (a *Authorities) DialContext(ctx context.Context, network, address string) (net.Conn, error) {
	return (&tls.Dialer{Config: a.current().TLSClientConfig.Clone()}).DialContext(ctx, network, address)
}

// RoundTrip implements http.RoundTripper.
func (a *Authorities) RoundTrip(r *http.Request) (*http.Response, error) {
	return a.current().RoundTrip(r)
}

// LastReload is what became of the file as it is now.
func (a *Authorities) LastReload() ops.Reload {
	a.current()
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.last
}

// current is the transport of the file as it is now.
func (a *Authorities) current() *http.Transport {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.file == "" {
		return a.transport
	}
	err := a.check()
	a.last.Refused = err != nil
	if err != nil {
		a.log.Error("authorities not replaced", "error", err.Error())
	}
	return a.transport
}

// check reads the file, and makes a new transport if its content changed. Connections
// for which the old authorities vouched are not used again.
func (a *Authorities) check() error {
	text, err := readBounded(a.file)
	if err != nil {
		return err
	}
	if bytes.Equal(text, a.held) {
		return nil
	}
	pool := x509.NewCertPool()
	if !pool.AppendCertsFromPEM(text) {
		return fmt.Errorf("%s: found no certificate; expected some in PEM", a.file)
	}
	if a.transport != nil {
		a.transport.CloseIdleConnections()
	}
	a.held, a.transport, a.last.Read = text, a.trusting(pool), time.Now()
	a.log.Info("authorities read", "file", a.file)
	return nil
}

func readBounded(file string) ([]byte, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxAuthorities+1))
	if err == nil && len(text) > maxAuthorities {
		err = fmt.Errorf("%s: found more than %d bytes; expected certificates in PEM", file, maxAuthorities)
	}
	return text, err
}

// trusting is a transport that trusts authorities; nil for those of the system.
func (a *Authorities) trusting(roots *x509.CertPool) *http.Transport {
	return &http.Transport{
		Proxy:                  a.proxy,
		TLSClientConfig:        &tls.Config{MinVersion: tls.VersionTLS12, RootCAs: roots},
		ForceAttemptHTTP2:      true,
		MaxIdleConnsPerHost:    16,
		IdleConnTimeout:        time.Minute,
		MaxResponseHeaderBytes: 64 << 10,
	}
}
