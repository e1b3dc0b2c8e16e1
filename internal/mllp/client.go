package mllp

import (
	"bufio"
	"context"
	"errors"
	"net"
	"time"
)

// A Client sends messages to one address. It keeps a few connections open, and may be used by many
// goroutines.
type Client struct {
	address string
	dialer  Dialer
	idle    chan *link
}

// A Dialer opens connections, with TLS or without.
type Dialer interface {
	DialContext(ctx context.Context, network, address string) (net.Conn, error)
}

// link is one connection of a client.
type link struct {
	net.Conn
	reader *bufio.Reader
}

// maxIdle is how many connections a client keeps open.
//
// Source: ours.
const maxIdle = 8

// maxReply bounds an acknowledgement, in bytes.
//
// Source: ours.
const maxReply = 1 << 20

// NewClient returns a client whose connections a dialer opens.
func NewClient(address string, dialer Dialer) *Client {
	return &Client{address: address, dialer: dialer, idle: make(chan *link, maxIdle)}
}

// Send sends a message and returns the reply. After an error it is not known whether the
// message arrived.
func (c *Client) Send(ctx context.Context, message []byte) ([]byte, error) {
	l, err := c.connect(ctx)
	if err != nil {
		return nil, err
	}
	reply, err := l.exchange(ctx, message)
	if err != nil {
		_ = l.Close()
		return nil, err
	}
	select {
	case c.idle <- l:
	default:
		_ = l.Close()
	}
	return reply, nil
}

// connect takes a connection that is open and still usable, or opens one.
func (c *Client) connect(ctx context.Context) (*link, error) {
	for {
		select {
		case l := <-c.idle:
			if l.alive() {
				return l, nil
			}
			_ = l.Close()
		default:
			return c.dial(ctx)
		}
	}
}

func (c *Client) dial(ctx context.Context) (*link, error) {
	conn, err := c.dialer.DialContext(ctx, "tcp", c.address)
	if err != nil {
		return nil, err
	}
	return &link{conn, bufio.NewReader(conn)}, nil
}

// alive reports whether the other side has not closed the connection while it was
// idle: there is nothing to read, not even its end.
func (l *link) alive() bool {
	_ = l.SetReadDeadline(time.Now().Add(time.Millisecond))
	_, err := l.reader.Peek(1)
	timeout, ok := errors.AsType[net.Error](err)
	return ok && timeout.Timeout()
}

// exchange sends a message and reads the reply.
func (l *link) exchange(ctx context.Context, message []byte) ([]byte, error) {
	deadline, _ := ctx.Deadline()
	_ = l.SetDeadline(deadline)
	stop := context.AfterFunc(ctx, func() { _ = l.SetDeadline(time.Now()) })
	defer stop()
	if _, err := l.Write(frame(message)); err != nil {
		return nil, err
	}
	if err := begin(l.reader); err != nil {
		return nil, err
	}
	return finish(l.reader, maxReply)
}

// Close closes the connections that are open.
func (c *Client) Close() {
	for {
		select {
		case l := <-c.idle:
			_ = l.Close()
		default:
			return
		}
	}
}
