package auth

import (
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"log/slog"
	"os"
	"slices"
	"sync"
	"time"

	"evenreach.example/internal/ops"
)

// Files are those of a certificate, in PEM.
type Files struct {
	Certificate string // the chain, the server's first
	Key         string
	ClientCA    string // the authorities for clients' certificates; empty to ask for none
}

// Certificates serve TLS from files, which may be replaced while they do. A
// replacement that cannot be read is logged, and the last good one stays.
type Certificates struct {
	files Files
	log   *slog.Logger

	mu      sync.Mutex
	checked time.Time
	held    [][]byte // what the files held when they were last checked
	config  *tls.Config
	last    ops.Reload
}

// checkInterval bounds how often handshakes read the files.
const checkInterval = 5 * time.Second

// ReadCertificates reads the files. The error names the one that is wrong.
func ReadCertificates(files Files) (*Certificates, error) {
	c := &Certificates{files: files, log: slog.New(slog.DiscardHandler)}
	if err := c.check(); err != nil {
		return nil, err
	}
	return c, nil
}

// Log sets the log to which replacements are written. Call it before Config is used.
func (c *Certificates) Log(log *slog.Logger) { c.log = log }

// Config is the configuration of a server, for HTTP and for gRPC.
func (c *Certificates) Config() *tls.Config {
	return &tls.Config{
		MinVersion: tls.VersionTLS12,
		NextProtos: []string{"h2", "http/1.1"},
		GetConfigForClient: func(*tls.ClientHelloInfo) (*tls.Config, error) {
			return c.current(), nil
		},
	}
}

// Expiry is when the certificate that is served expires.
func (c *Certificates) Expiry() time.Time { return c.current().Certificates[0].Leaf.NotAfter }

// LastReload is what became of the files as they are now.
func (c *Certificates) LastReload() ops.Reload {
	c.current()
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.last
}

// current is the configuration of the files as they are now.
func (c *Certificates) current() *tls.Config {
	c.mu.Lock()
	defer c.mu.Unlock()
	if time.Since(c.checked) < checkInterval {
		return c.config
	}
	err := c.check()
	c.last.Refused = err != nil
	if err != nil {
		c.log.Error("certificate not replaced", "error", err.Error())
	}
	return c.config
}

// check reads the files, and builds a new configuration if their content changed.
func (c *Certificates) check() error {
	c.checked = time.Now()
	held, err := c.files.read()
	if err != nil {
		return err
	}
	if slices.EqualFunc(held, c.held, slices.Equal) {
		return nil
	}
	config, err := c.files.config(held)
	if err != nil {
		return err
	}
	c.held, c.config, c.last.Read = held, config, c.checked
	c.log.Info("certificate read", "expires", config.Certificates[0].Leaf.NotAfter)
	return nil
}

// read reads the files that are named.
func (f Files) read() (held [][]byte, err error) {
	for _, name := range []string{f.Certificate, f.Key, f.ClientCA} {
		var text []byte
		if name != "" {
			if text, err = os.ReadFile(name); err != nil {
				return nil, err
			}
		}
		held = append(held, text)
	}
	return held, nil
}

// config makes a configuration from the content of the files.
func (f Files) config(held [][]byte) (*tls.Config, error) {
	certificate, err := tls.X509KeyPair(held[0], held[1])
	if err != nil {
		return nil, fmt.Errorf("%s with %s: %w", f.Certificate, f.Key, err)
	}
	config := &tls.Config{
		MinVersion:   tls.VersionTLS12,
		NextProtos:   []string{"h2", "http/1.1"},
		Certificates: []tls.Certificate{certificate},
	}
	if f.ClientCA == "" {
		return config, nil
	}
	config.ClientAuth, config.ClientCAs = tls.RequireAndVerifyClientCert, x509.NewCertPool()
	if !config.ClientCAs.AppendCertsFromPEM(held[2]) {
		return nil, fmt.Errorf("%s: found no certificate; expected some in PEM", f.ClientCA)
	}
	return config, nil
}
