package service

import (
	"compress/gzip"
	"net/http"
	"strings"
	"sync"
)

// minCompressed is the least length of a body that is compressed, in bytes.
const minCompressed = 1 << 10

// compress answers in gzip where the caller takes it.
func compress(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Add("Vary", "Accept, Accept-Encoding")
		accepted := parseRanges(strings.Join(r.Header.Values("Accept-Encoding"), ","))
		if quality(accepted, "gzip") == 0 {
			next.ServeHTTP(w, r)
			return
		}
		c := &compressor{ResponseWriter: w}
		next.ServeHTTP(c, r)
		c.flush()
	})
}

var deflates = sync.Pool{New: func() any {
	w, err := gzip.NewWriterLevel(nil, gzip.BestSpeed)
	if err != nil {
		return gzip.NewWriter(nil)
	}
	return w
}}

// compressor compresses an answer if its first Write is long enough; the service's
// answers have only one. Each Write becomes a member of the gzip.
type compressor struct {
	http.ResponseWriter
	status     int // not yet written; 0 once it is, or if there is none
	decided    bool
	compressed bool
}

// WriteHeader waits for the body, which decides about the headers.
func (c *compressor) WriteHeader(status int) { c.status = status }

// Write writes a part of the answer.
func (c *compressor) Write(p []byte) (int, error) {
	if !c.decided {
		c.decided, c.compressed = true, len(p) >= minCompressed
		if c.compressed {
			c.Header().Set("Content-Encoding", "gzip")
			c.Header().Del("Content-Length")
		}
	}
	c.flush()
	if !c.compressed {
		return c.ResponseWriter.Write(p)
	}
	z := deflates.Get().(*gzip.Writer)
	defer deflates.Put(z)
	z.Reset(c.ResponseWriter)
	if n, err := z.Write(p); err != nil {
		return n, err
	}
	return len(p), z.Close()
}

// flush writes the status that waited.
func (c *compressor) flush() {
	if c.status != 0 {
		c.ResponseWriter.WriteHeader(c.status)
		c.status = 0
	}
}
