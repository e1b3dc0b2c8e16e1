package service

import (
	"bytes"
	"compress/gzip"
	"context"
	"net/http"
	"net/http/httptest"
	"testing"
)

// method is a request without a body.
func method(name, path string) *http.Request {
	return httptest.NewRequestWithContext(context.Background(), name, path, nil)
}

// withQuery gives a request a query.
func withQuery(r *http.Request, query string) *http.Request {
	r.URL.RawQuery = query
	return r
}

// unknownLength hides how long a body is.
func unknownLength(r *http.Request) *http.Request {
	r.ContentLength = -1
	return r
}

// gzipped compresses a text.
func gzipped(t testing.TB, text string) string {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if _, err := z.Write([]byte(text)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}
