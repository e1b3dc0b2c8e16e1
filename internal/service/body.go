package service

import (
	"bytes"
	"compress/flate"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"
	"sync"
	"sync/atomic"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// requestBody is a body that has been read whole and inflated.
type requestBody struct {
	bytes.Reader
	buffer *bytes.Buffer
	from   *budget
	taken  int64 // from it
}

// Close implements io.Closer; there is nothing left to close.
func (b *requestBody) Close() error { return nil }

func (b *requestBody) bytes() []byte { return b.buffer.Bytes() }

// release returns the buffer to the pool. Nothing may use the body after it.
func (b *requestBody) release() {
	b.from.give(b.taken)
	if b.buffer.Cap() <= maxPooled {
		b.buffer.Reset()
		buffers.Put(b.buffer)
	}
}

// takeBody reads a body when there is room for a request more. The room and the body's bytes
// are the caller's until it calls done.
func (s *Server) takeBody(ctx context.Context, w http.ResponseWriter, r *http.Request) (body []byte, done func(), err error) {
	if err := s.capacity.enterRoom(ctx); err != nil {
		return nil, nil, err
	}
	read, err := readBody(w, r, int64(fhir.DefaultLimits.Bytes), &s.bodies)
	if err != nil {
		s.capacity.room.leave()
		return nil, nil, err
	}
	return read.bytes(), func() {
		read.release()
		s.capacity.room.leave()
	}, nil
}

// maxPooled keeps one large body from holding its memory for ever.
const maxPooled = 1 << 20

var (
	buffers  = sync.Pool{New: func() any { return new(bytes.Buffer) }}
	inflates = sync.Pool{New: func() any { return new(gzip.Reader) }}
)

const (
	// ownShare is how many bytes of each body are always there for it: a record
	// of 60 Observations has 94,000 (internal/fhir/fhirtest).
	ownShare = 128 << 10
	// maxBodies bounds what all bodies together hold beyond their shares, in
	// bytes: three of the longest. With what is made of them that stays within
	// the memory of the base in deploy/kubernetes (measured:
	// internal/resilience.TestLongBodies).
	maxBodies = 24 << 20
)

// A budget is the number of bytes that all bodies together may still take. Without it
// a few clients that send long bodies and never end them would take a gigabyte.
type budget struct{ left atomic.Int64 }

// take takes n bytes and reports true, or reports false if fewer are left.
func (b *budget) take(n int64) bool {
	if b.left.Add(-n) >= 0 {
		return true
	}
	b.give(n)
	return false
}

func (b *budget) give(n int64) { b.left.Add(n) }

// metered takes what is read of a body from its own share and then from the budget.
type metered struct {
	io.Reader
	body *requestBody
	read int64
}

// Read reads, and fails if the budget is used up.
func (m *metered) Read(p []byte) (int, error) {
	n, err := m.Reader.Read(p)
	m.read += int64(n)
	if more := m.read - ownShare - m.body.taken; more > 0 {
		if !m.body.from.take(more) {
			return n, errFull
		}
		m.body.taken += more
	}
	return n, err
}

// wireReader is a body as it comes from the connection, whose early end means that the caller
// hung up. In what it is inflated to, an early end has another cause.
type wireReader struct{ io.Reader }

func (w wireReader) Read(p []byte) (int, error) {
	n, err := w.Reader.Read(p)
	if errors.Is(err, io.ErrUnexpectedEOF) {
		err = errHungUp
	}
	return n, err
}

// readBody reads a body of at most limit bytes, before and after inflating.
func readBody(w http.ResponseWriter, r *http.Request, limit int64, bodies *budget) (*requestBody, error) {
	if r.ContentLength > limit {
		return nil, tooLong(limit)
	}
	body := &requestBody{buffer: buffers.Get().(*bytes.Buffer), from: bodies}
	body.buffer.Grow(int(min(max(r.ContentLength, 0), ownShare)))
	if err := fill(body, wireReader{http.MaxBytesReader(w, r.Body, limit)}, r.Header.Get("Content-Encoding"), limit); err != nil {
		body.release()
		return nil, bodyRefusal(err, limit)
	}
	body.Reset(body.bytes())
	return body, nil
}

var (
	errTooLong  = errors.New("body over the limit")
	errEncoding = errors.New("content encoding is not read")
	errHungUp   = errors.New("the caller hung up")
	errFull     = errors.New("other bodies hold what there is for all")
)

// fill reads a body into its buffer, inflating it if it is encoded.
func fill(body *requestBody, from io.Reader, encoding string, limit int64) error {
	switch strings.ToLower(encoding) {
	case "", "identity":
	case "gzip", "x-gzip":
		inflate := inflates.Get().(*gzip.Reader)
		defer inflates.Put(inflate)
		if err := inflate.Reset(from); err != nil {
			return err
		}
		from = inflate
	default:
		return errEncoding
	}
	n, err := body.buffer.ReadFrom(&metered{Reader: io.LimitReader(from, limit+1), body: body})
	if n > limit {
		return errTooLong
	}
	return err
}

// bodyRefusal says why a body could not be read.
func bodyRefusal(err error, limit int64) error {
	_, corrupt := errors.AsType[flate.CorruptInputError](err)
	_, overLimit := errors.AsType[*http.MaxBytesError](err)
	switch {
	case overLimit || errors.Is(err, errTooLong):
		return tooLong(limit)
	case errors.Is(err, errFull):
		return busy()
	case errors.Is(err, errEncoding):
		return fault.Refuse(fault.MediaTypeUnknown, "", "the encoding of Content-Encoding is not read; expected gzip or none")
	case errors.Is(err, errHungUp), errors.Is(err, context.Canceled):
		return context.Canceled
	case errors.Is(err, os.ErrDeadlineExceeded):
		return context.DeadlineExceeded
	case corrupt || errors.Is(err, gzip.ErrHeader) || errors.Is(err, gzip.ErrChecksum):
		return fault.Refuse(fault.Syntax, "", "the body is not the gzip that Content-Encoding says it is")
	}
	return fault.Refuse(fault.Syntax, "", "the body ends before its end; expected it whole")
}

func tooLong(limit int64) error {
	return fault.Refuse(fault.TooLong, "", fmt.Sprintf("the body is over the limit; expected at most %d bytes, uncompressed", limit))
}
