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

	"evenreach.example/internal/fault"
)

// requestBody is a body that has been read whole and inflated.
type requestBody struct {
	bytes.Reader
	buffer *bytes.Buffer
}

// Close implements io.Closer; there is nothing left to close.
func (b *requestBody) Close() error { return nil }

func (b *requestBody) bytes() []byte { return b.buffer.Bytes() }

// release gives the memory back. Nothing may use the body after it.
func (b *requestBody) release() {
	if b.buffer.Cap() <= maxPooled {
		b.buffer.Reset()
		buffers.Put(b.buffer)
	}
}

// maxPooled keeps one large body from holding its memory for ever.
const maxPooled = 1 << 20

var (
	buffers  = sync.Pool{New: func() any { return new(bytes.Buffer) }}
	inflates = sync.Pool{New: func() any { return new(gzip.Reader) }}
)

// readBody reads a body of at most limit bytes, before and after inflating.
func readBody(w http.ResponseWriter, r *http.Request, limit int64) (*requestBody, error) {
	if r.ContentLength > limit {
		return nil, tooLong(limit)
	}
	body := &requestBody{buffer: buffers.Get().(*bytes.Buffer)}
	body.buffer.Grow(int(min(max(r.ContentLength, 0), maxPooled)))
	if err := fill(body.buffer, http.MaxBytesReader(w, r.Body, limit), r.Header.Get("Content-Encoding"), limit); err != nil {
		body.release()
		return nil, bodyRefusal(err, limit)
	}
	body.Reset(body.bytes())
	return body, nil
}

var (
	errTooLong  = errors.New("body over the limit")
	errEncoding = errors.New("content encoding is not read")
)

// fill reads a body into a buffer, inflating it if it is encoded.
func fill(buffer *bytes.Buffer, from io.Reader, encoding string, limit int64) error {
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
	n, err := buffer.ReadFrom(io.LimitReader(from, limit+1))
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
	case errors.Is(err, errEncoding):
		return fault.Refuse(fault.MediaTypeUnknown, "", "the encoding of Content-Encoding is not read; expected gzip or none")
	case errors.Is(err, context.Canceled), errors.Is(err, os.ErrDeadlineExceeded):
		return context.DeadlineExceeded
	case corrupt || errors.Is(err, gzip.ErrHeader) || errors.Is(err, gzip.ErrChecksum):
		return fault.Refuse(fault.Syntax, "", "the body is not the gzip that Content-Encoding says it is")
	}
	return fault.Refuse(fault.Syntax, "", "the body ends before its end; expected it whole")
}

func tooLong(limit int64) error {
	return fault.Refuse(fault.TooLong, "", fmt.Sprintf("the body is over the limit; expected at most %d bytes, uncompressed", limit))
}
