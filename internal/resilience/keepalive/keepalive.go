// Package keepalive is a caller by REST for tests, as strict as they come: it keeps its
// connection, never asks again, and closes a connection only when it is told to. Many
// HTTP clients do so that take connections out of a pool; Go's own asks again where it
// can and would hide a loss.
package keepalive

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"net/http"
)

// ErrLost is that a connection which was kept gave no answer: it was closed without a
// word while a request was on its way.
var ErrLost = errors.New("no answer on a kept connection")

// A Caller asks one address over one connection at a time.
type Caller struct {
	Address string // host:port
	conn    net.Conn
	reader  *bufio.Reader
}

// IsNew reports whether the next request opens a connection.
func (c *Caller) IsNew() bool { return c.conn == nil }

// Post asks once, with a body of FHIR JSON, and returns the status and the body of the
// answer.
func (c *Caller) Post(ctx context.Context, path string, body []byte) (status int, answer []byte, err error) {
	kept := !c.IsNew()
	if !kept {
		if c.conn, err = (&net.Dialer{}).DialContext(ctx, "tcp", c.Address); err != nil {
			c.conn = nil
			return 0, nil, err
		}
		c.reader = bufio.NewReader(c.conn)
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, "http://"+c.Address+path, bytes.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	r.Header.Set("Content-Type", "application/fhir+json")
	status, answer, closes, err := c.send(r)
	if err != nil || closes {
		c.Close()
	}
	if err != nil && kept {
		err = errors.Join(ErrLost, err)
	}
	return status, answer, err
}

func (c *Caller) send(r *http.Request) (status int, body []byte, closes bool, err error) {
	if err := r.Write(c.conn); err != nil {
		return 0, nil, false, err
	}
	answer, err := http.ReadResponse(c.reader, r)
	if err != nil {
		return 0, nil, false, err
	}
	defer answer.Body.Close()
	body, err = io.ReadAll(answer.Body)
	return answer.StatusCode, body, answer.Close, err
}

// Close closes the connection, if there is one.
func (c *Caller) Close() {
	if c.conn != nil {
		_ = c.conn.Close() // nothing is on its way
		c.conn = nil
	}
}
