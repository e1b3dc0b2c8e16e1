package service

import (
	"context"
	"crypto/tls"
	"math/rand/v2"
	"net"
	"net/http"
	"sync"
	"time"

	"evenreach.example/internal/ops"
)

// ageSpread is by how much the age at which a connection is given up differs from
// connection to connection, so that those of one moment do not all come again at once.
// It is that of grpc-go (keepalive.ServerParameters), so that both doors do the same.
const ageSpread = 0.1

type retireKey struct{}

// retiring is a context of a connection that knows when it is to be given up.
func (s *Server) retiring(ctx context.Context, _ net.Conn) context.Context {
	if s.config.MaxConnectionAge == 0 {
		return ctx
	}
	spread := 1 + ageSpread*(2*rand.Float64()-1)
	return context.WithValue(ctx, retireKey{}, time.Now().Add(time.Duration(spread*float64(s.config.MaxConnectionAge))))
}

// givesUp reports whether the connection of a request is to be given up with its
// answer: the service leaves, or the connection is old and another replica may have
// more room.
func (s *Server) givesUp(ctx context.Context) bool {
	if s.leaving.Load() {
		return true
	}
	retire, ok := ctx.Value(retireKey{}).(time.Time)
	return ok && time.Now().After(retire)
}

// Leave gives up every connection by REST with its next answer. Between this and the
// end of the listener there should be enough time for callers to be sent elsewhere: a
// connection that is idle at the end is closed without a word, and a request that was
// on its way is lost.
func (s *Server) Leave() { s.leaving.Store(true) }

// HTTPServer is the server of REST: that of NewHTTPServer with its rules for
// connections.
func (s *Server) HTTPServer(server *http.Server, secure *tls.Config) *http.Server {
	server.TLSConfig = secure
	server.ConnContext = s.retiring
	server.HTTP2 = &http.HTTP2Config{MaxConcurrentStreams: cap(s.capacity.room)}
	return server
}

// A limitedListener accepts no more than a number of connections at a time. One more
// is closed at once: its caller sees it and can go elsewhere, where in a queue it would
// wait for nobody knows how long.
type limitedListener struct {
	net.Listener
	open    gate
	metrics *ops.ConnectionMetrics
}

// LimitConnections makes a listener accept no more than a number of connections at a
// time. The number bounds what strangers can make the service hold: they need no token
// to connect.
func LimitConnections(l net.Listener, most int, metrics *ops.ConnectionMetrics) net.Listener {
	return &limitedListener{l, make(gate, most), metrics}
}

// Accept waits for a connection within the limit.
func (l *limitedListener) Accept() (net.Conn, error) {
	for {
		conn, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		if l.open.tryEnter() {
			l.metrics.Opened()
			return &limitedConn{Conn: conn, left: sync.OnceFunc(func() {
				l.open.leave()
				l.metrics.Closed()
			})}, nil
		}
		l.metrics.Refused()
		_ = conn.Close() // it was never used
	}
}

// limitedConn counts as open until it is closed.
type limitedConn struct {
	net.Conn
	left func()
}

// Close closes the connection and makes room for another.
func (c *limitedConn) Close() error {
	defer c.left()
	return c.Conn.Close()
}
