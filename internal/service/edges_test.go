package service

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/fault"
)

// What joined no tenant is nobody's, and is not assessed where tenants are told apart: a door that forgot to ask opens nothing.
func TestWhatJoinedNobodyIsNotAssessed(t *testing.T) {
	for name, c := range map[string]struct {
		h    *harness
		want bool
	}{"of tenants": {startTenants(t, Config{}), true}, "for everybody": {start(t), false}} {
		_, err := c.h.server.run(t.Context(), Request{})
		refused, ok := errors.AsType[*auth.Refusal](err)
		if got := ok && refused.Reason == auth.NoTenant; got != c.want {
			t.Errorf("a service %s: %v, refused as nobody's: %v, want %v", name, err, got, c.want)
		}
	}
}

// A body of just the limit is read, before and after it is inflated, and one of a byte more is not.
func TestLimitOfABody(t *testing.T) {
	const limit = 4096
	whole, more := strings.Repeat(" ", limit), strings.Repeat(" ", limit+1)
	compressed := gzipped(t, whole)
	corrupt := compressed[:len(compressed)-6] + "??????" // its checksum and length
	tests := []struct {
		name, body, encoding string
		unknown              bool // the length is not stated
		want                 fault.Kind
		text                 string
	}{
		{"just the limit", whole, "", false, 0, ""},
		{"just the limit, of unknown length", whole, "", true, 0, ""},
		{"just the limit, inflated", compressed, "gzip", false, 0, ""},
		{"a byte more", more, "", false, fault.TooLong, "over the limit"},
		{"a byte more, of unknown length", more, "", true, fault.TooLong, "over the limit"},
		{"a byte more, inflated", gzipped(t, more), "gzip", false, fault.TooLong, "over the limit"},
		{"no gzip", whole, "gzip", false, fault.Syntax, "not the gzip"},
		{"gzip with another checksum", corrupt, "gzip", false, fault.Syntax, "not the gzip"},
		{"gzip that is garbled", compressed[:12] + "??" + compressed[14:], "gzip", false, fault.Syntax, "not the gzip"},
		{"another encoding", whole, "br", false, fault.MediaTypeUnknown, "Content-Encoding"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var all budget
			all.give(maxBodies)
			r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/", io.NopCloser(strings.NewReader(tt.body)))
			if r.ContentLength = int64(len(tt.body)); tt.unknown {
				r.ContentLength = -1
			}
			r.Header.Set("Content-Encoding", tt.encoding)
			body, err := readBody(httptest.NewRecorder(), r, limit, &all)
			if tt.text == "" {
				if err != nil || len(body.bytes()) != limit {
					t.Errorf("%v, want %d bytes", err, limit)
				}
				return
			}
			if refused, ok := errors.AsType[*fault.Errors](err); !ok || refused.Kind() != tt.want || !strings.Contains(err.Error(), tt.text) {
				t.Errorf("%v, want a refusal: %v, %s", err, tt.want, tt.text)
			}
		})
	}
}

// A budget can be taken to its last byte, and what was refused takes nothing.
func TestBudget(t *testing.T) {
	var b budget
	b.give(10)
	if b.take(11) || !b.take(10) || b.take(1) {
		t.Error("want 10 of 10 taken, and nothing beyond")
	}
	b.give(3)
	if !b.take(3) {
		t.Error("what was given back cannot be taken again")
	}
}

// The status of a call says in words what decided, and how much else there is.
func TestSummaryOfARefusal(t *testing.T) {
	syntax, limit := fault.Issue{Severity: fault.Error, Kind: fault.Syntax, Detail: "first"}, fault.Issue{Severity: fault.Error, Kind: fault.TooLong, Detail: "second"}
	bare := syntax
	bare.Detail = ""
	tests := []struct {
		name   string
		issues []fault.Issue
		want   string // behind the name of the kind
	}{
		{"one", []fault.Issue{syntax}, ": first"},
		{"two", []fault.Issue{syntax, syntax}, ": first (and 1 more)"},
		{"without words", []fault.Issue{bare}, ""},
		{"the first without words", []fault.Issue{bare, syntax}, ": first (and 1 more)"},
	}
	for _, tt := range tests {
		r := refusalOf(&fault.Errors{Issues: tt.issues})
		if got, want := r.GRPCStatus().Message(), fault.Syntax.Display()+tt.want; got != want {
			t.Errorf("%s: %q, want %q", tt.name, got, want)
		}
	}
	r := refusalOf(&fault.Errors{Issues: []fault.Issue{limit, syntax}})
	decided := map[fault.Kind]string{fault.Syntax: "first", fault.TooLong: "second"}[r.Kind()]
	if got, want := r.GRPCStatus().Message(), r.Kind().Display()+": "+decided+" (and 1 more)"; got != want {
		t.Errorf("of two kinds: %q, want %q: the words of the one that decided", got, want)
	}
	if got := refusalOf(context.Canceled).GRPCStatus().Message(); strings.Contains(got, "more") {
		t.Errorf("%q, want nothing more", got)
	}
}
