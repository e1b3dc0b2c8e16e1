package mllp

import (
	"bufio"
	"context"
	"crypto/tls"
	"errors"
	"net"
	"sync"
	"time"
)

// Limits bound what callers may take.
type Limits struct {
	Connections int           // open at a time; more are closed at once
	Bytes       int           // of a message
	Idle        time.Duration // between two messages
	Message     time.Duration // from the first byte of a message to its last, and for writing the reply
}

// DefaultLimits are the limits of a server.
//
// Source: common practice; engines keep one connection open for each interface.
var DefaultLimits = Limits{Connections: 256, Bytes: 8 << 20, Idle: 10 * time.Minute, Message: 30 * time.Second}

// A Server answers each message of a connection before it reads the next.
type Server struct {
	// Handle answers a message. Its context ends only when the server is closed by
	// force: a message whose sender hung up is still handled to its end, so that the sender
	// is answered alike when it sends the message again.
	Handle func(ctx context.Context, message []byte) (reply []byte)
	// TLS is the configuration of TLS; nil for none.
	TLS *tls.Config
	// Limits are those of DefaultLimits where they are zero.
	Limits Limits
	// Opened is told how many connections are open, after each change; nil for nobody.
	Opened func(n int)

	mu       sync.Mutex
	open     map[*connection]bool
	listener net.Listener
	stopping bool
	handled  sync.WaitGroup
	cancel   context.CancelFunc
}

// connection is one connection; mu of the server guards busy.
type connection struct {
	net.Conn
	busy bool // a message is read or answered
}

// Serve accepts connections until Shutdown, and then returns nil.
func (s *Server) Serve(l net.Listener) error {
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	s.mu.Lock()
	s.listener, s.cancel, s.open = l, cancel, map[*connection]bool{}
	stopping := s.stopping
	s.mu.Unlock()
	if stopping {
		_ = l.Close()
	}
	for {
		conn, err := l.Accept()
		if err != nil {
			s.handled.Wait()
			if s.isStopping() {
				return nil
			}
			return err
		}
		if s.TLS != nil {
			conn = tls.Server(conn, s.TLS)
		}
		if c := s.admit(conn); c != nil {
			go s.serve(ctx, c)
		}
	}
}

func (s *Server) isStopping() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.stopping
}

// limits are the limits, each with its default.
func (s *Server) limits() Limits {
	l := s.Limits
	if l.Connections == 0 {
		l.Connections = DefaultLimits.Connections
	}
	if l.Bytes == 0 {
		l.Bytes = DefaultLimits.Bytes
	}
	if l.Idle == 0 {
		l.Idle = DefaultLimits.Idle
	}
	if l.Message == 0 {
		l.Message = DefaultLimits.Message
	}
	return l
}

// admit keeps a connection if there is room for it; else it closes it and returns nil.
func (s *Server) admit(conn net.Conn) *connection {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.stopping || len(s.open) >= s.limits().Connections {
		_ = conn.Close()
		return nil
	}
	c := &connection{Conn: conn}
	s.open[c] = true
	s.handled.Add(1)
	s.tell()
	return c
}

func (s *Server) tell() {
	if s.Opened != nil {
		s.Opened(len(s.open))
	}
}

// serve answers the messages of a connection.
func (s *Server) serve(ctx context.Context, c *connection) {
	defer s.handled.Done()
	defer s.forget(c)
	r := bufio.NewReader(c)
	for s.next(ctx, c, r) == nil {
	}
}

func (s *Server) forget(c *connection) {
	_ = c.Close() // nothing is left to be said
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.open, c)
	s.tell()
}

var errStopping = errors.New("mllp: the server stops")

// next answers one message.
func (s *Server) next(ctx context.Context, c *connection, r *bufio.Reader) error {
	l := s.limits()
	_ = c.SetDeadline(time.Now().Add(l.Idle))
	if err := begin(r); err != nil {
		return err
	}
	if !s.mark(c, true) {
		return errStopping
	}
	_ = c.SetDeadline(time.Now().Add(l.Message))
	message, err := finish(r, l.Bytes)
	if err != nil {
		return err
	}
	reply := s.Handle(ctx, message)
	_ = c.SetDeadline(time.Now().Add(l.Message))
	if _, err := c.Write(frame(reply)); err != nil {
		return err
	}
	if !s.mark(c, false) {
		return errStopping
	}
	return nil
}

// mark notes that a connection is busy or not, and reports whether the server goes on. A message
// that has begun when the server is told to stop is still answered.
func (s *Server) mark(c *connection, busy bool) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	c.busy = busy
	return !s.stopping || busy
}

// Shutdown takes no more connections, closes the idle ones, and waits until what is being read or answered is
// answered, at most until the context ends.
func (s *Server) Shutdown(ctx context.Context) error {
	s.stop(false)
	done := make(chan struct{})
	go func() {
		s.handled.Wait()
		close(done)
	}()
	select {
	case <-done:
		return nil
	case <-ctx.Done():
		s.stop(true)
		<-done
		return ctx.Err()
	}
}

// stop closes the listener and the connections that are not busy, or all of them.
func (s *Server) stop(all bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.stopping = true
	if s.listener != nil {
		_ = s.listener.Close()
	}
	for c := range s.open {
		if all || !c.busy {
			_ = c.Close()
		}
	}
	if all && s.cancel != nil {
		s.cancel()
	}
}
