package mllp

import (
	"bufio"
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"math/big"
	"net"
	"strings"
	"sync"
	"testing"
	"time"
)

// The frames are those of the specification: VT, the message, FS and CR.
func TestFrames(t *testing.T) {
	tests := []struct {
		name, sent string
		want       []string
		err        error
	}{
		{"one", "\x0bMSH\rPID\x1c\r", []string{"MSH\rPID"}, io.EOF},
		{"joined", "\x0ba\x1c\r\x0bb\x1c\r", []string{"a", "b"}, io.EOF},
		{"line breaks between", "\x0ba\x1c\r\r\n\x0bb\x1c\r", []string{"a", "b"}, io.EOF},
		{"cut off", "\x0ba", nil, io.ErrUnexpectedEOF},
		{"cut off before CR", "\x0ba\x1c", nil, io.ErrUnexpectedEOF},
		{"no CR", "\x0ba\x1cb", nil, ErrFraming},
		{"no VT", "MSH|\r", nil, ErrFraming},
		{"too long", "\x0b" + strings.Repeat("x", 9000) + "\x1c\r", nil, ErrTooLong},
		{"as long as may be", "\x0b" + strings.Repeat("x", 8192) + "\x1c\r", []string{strings.Repeat("x", 8192)}, io.EOF},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := bufio.NewReader(iotestByte{strings.NewReader(tt.sent)})
			var got []string
			for {
				err := begin(r)
				var message []byte
				if err == nil {
					message, err = finish(r, 8192)
				}
				if err != nil {
					if !errors.Is(err, tt.err) {
						t.Errorf("found %v, want %v", err, tt.err)
					}
					break
				}
				got = append(got, string(message))
			}
			if strings.Join(got, "|") != strings.Join(tt.want, "|") {
				t.Errorf("found %.40q, want %.40q", got, tt.want)
			}
		})
	}
}

// Over TLS each side proves who it is by a certificate; whoever has none is not answered.
func TestTLS(t *testing.T) {
	own := certificate(t)
	authorities := x509.NewCertPool()
	authorities.AddCert(own.Leaf)
	address := serving(t, &Server{TLS: &tls.Config{Certificates: []tls.Certificate{own}, ClientCAs: authorities, ClientAuth: tls.RequireAndVerifyClientCert, MinVersion: tls.VersionTLS12}})
	known := &tls.Config{RootCAs: authorities, Certificates: []tls.Certificate{own}, ServerName: "engine.example", MinVersion: tls.VersionTLS12}
	client := NewClient(address, &tls.Dialer{Config: known})
	for range 3 { // over one connection
		if reply, err := client.Send(t.Context(), []byte("abc")); err != nil || string(reply) != "ABC" {
			t.Fatalf("the reply is %q: %v", reply, err)
		}
	}
	unknown := known.Clone()
	unknown.Certificates = nil
	distrusting := known.Clone()
	distrusting.RootCAs = x509.NewCertPool()
	misled := known.Clone()
	misled.ServerName = "other.example"
	for name, dialer := range map[string]Dialer{
		"without a certificate": &tls.Dialer{Config: unknown}, "that does not trust the server": &tls.Dialer{Config: distrusting},
		"that expects another server": &tls.Dialer{Config: misled}, "without TLS": new(net.Dialer),
	} {
		ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
		if reply, err := NewClient(address, dialer).Send(ctx, []byte("abc")); err == nil {
			t.Errorf("a client %s is answered %q", name, reply)
		}
		cancel()
	}
}

// certificate is one of engine.example, signed by itself.
func certificate(t *testing.T) tls.Certificate {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), DNSNames: []string{"engine.example"}, NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth}, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign,
	}
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key, Leaf: leaf}
}

// iotestByte hands out one byte at a time, as a slow network does.
type iotestByte struct{ io.Reader }

func (r iotestByte) Read(p []byte) (int, error) { return r.Reader.Read(p[:min(len(p), 1)]) }

// serving is a server that answers each message by itself in capitals.
func serving(t *testing.T, s *Server) string {
	t.Helper()
	if s.Handle == nil {
		s.Handle = func(_ context.Context, m []byte) []byte { return bytes.ToUpper(m) }
	}
	l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- s.Serve(l) }()
	t.Cleanup(func() {
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		_ = s.Shutdown(ctx)
		if err := <-done; err != nil {
			t.Errorf("Serve: %v", err)
		}
	})
	return l.Addr().String()
}

func TestClientAndServer(t *testing.T) {
	c := NewClient(serving(t, &Server{}), new(net.Dialer))
	defer c.Close()
	var group sync.WaitGroup
	for i := range 20 {
		group.Go(func() {
			ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
			defer cancel()
			text := strings.Repeat("a", i*1000)
			if got, err := c.Send(ctx, []byte(text)); err != nil || string(got) != strings.ToUpper(text) {
				t.Errorf("found %.20q, %v", got, err)
			}
		})
	}
	group.Wait()
}

func TestClientNoticesAClosedConnection(t *testing.T) {
	s := &Server{Limits: Limits{Idle: 50 * time.Millisecond}}
	c := NewClient(serving(t, s), new(net.Dialer))
	defer c.Close()
	for range 3 {
		if _, err := c.Send(t.Context(), []byte("a")); err != nil {
			t.Fatal(err)
		}
		for isOpen := true; isOpen; {
			s.mu.Lock()
			isOpen = len(s.open) > 0
			s.mu.Unlock()
		}
	}
}

// closed reports whether the other side closes a connection.
func closed(conn net.Conn) bool {
	_ = conn.SetReadDeadline(time.Now().Add(10 * time.Second))
	_, err := conn.Read(make([]byte, 1))
	return errors.Is(err, io.EOF) || err != nil && !errors.Is(err, context.DeadlineExceeded) && !strings.Contains(err.Error(), "timeout")
}

func dialed(t *testing.T, address string) net.Conn {
	t.Helper()
	conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close() })
	return conn
}

func TestLimits(t *testing.T) {
	t.Run("connections", func(t *testing.T) {
		address := serving(t, &Server{Limits: Limits{Connections: 1}})
		first := dialed(t, address)
		if _, err := first.Write(frame([]byte("a"))); err != nil {
			t.Fatal(err)
		}
		if _, err := first.Read(make([]byte, 4)); err != nil {
			t.Fatal(err)
		}
		if !closed(dialed(t, address)) {
			t.Error("a second connection stays open")
		}
	})
	t.Run("bytes", func(t *testing.T) {
		conn := dialed(t, serving(t, &Server{Limits: Limits{Bytes: 10}}))
		_, _ = conn.Write(frame(make([]byte, 100)))
		if !closed(conn) {
			t.Error("a message over the limit leaves the connection open")
		}
	})
	t.Run("idle", func(t *testing.T) {
		if !closed(dialed(t, serving(t, &Server{Limits: Limits{Idle: time.Millisecond}}))) {
			t.Error("an idle connection stays open")
		}
	})
	t.Run("a message that never ends", func(t *testing.T) {
		conn := dialed(t, serving(t, &Server{Limits: Limits{Message: time.Millisecond}}))
		_, _ = conn.Write([]byte("\x0bMSH"))
		if !closed(conn) {
			t.Error("a message that never ends keeps its connection")
		}
	})
}

func TestShutdownAnswersWhatHasBegun(t *testing.T) {
	begun, finish := make(chan struct{}), make(chan struct{})
	s := &Server{Handle: func(context.Context, []byte) []byte {
		close(begun)
		<-finish
		return []byte("answered")
	}}
	address := serving(t, s)
	idle := dialed(t, address)
	busy := dialed(t, address)
	_, _ = busy.Write(frame([]byte("a")))
	<-begun
	done := make(chan error)
	go func() { done <- s.Shutdown(context.Background()) }()
	if !closed(idle) {
		t.Error("an idle connection stays open at shutdown")
	}
	close(finish)
	got, err := io.ReadAll(busy)
	if string(got) != string(frame([]byte("answered"))) || err != nil {
		t.Errorf("found %q, %v; want the reply and the end", got, err)
	}
	if err := <-done; err != nil {
		t.Errorf("Shutdown: %v", err)
	}
}

func TestShutdownEndsAtItsDeadline(t *testing.T) {
	begun := make(chan struct{})
	s := &Server{Handle: func(ctx context.Context, _ []byte) []byte {
		close(begun)
		<-ctx.Done()
		return nil
	}}
	conn := dialed(t, serving(t, s))
	_, _ = conn.Write(frame([]byte("a")))
	<-begun
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := s.Shutdown(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("Shutdown: %v, want that of its context", err)
	}
}

func FuzzFrames(f *testing.F) {
	f.Add([]byte("\x0ba\x1c\r\x0bb\x1c\r"))
	f.Add([]byte("\r\n\x0b\x1c\x1c\r"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r := bufio.NewReader(bytes.NewReader(data))
		for begin(r) == nil {
			message, err := finish(r, 100)
			if err != nil {
				return
			}
			if len(message) > 100 || bytes.IndexByte(message, endBlock) >= 0 {
				t.Fatalf("found the message %q", message)
			}
		}
	})
}
