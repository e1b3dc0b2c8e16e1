// Package fhirclient asks a FHIR R4 server, the record that an operator has configured: it searches what the record
// has of a patient, and stores an answer by a transaction. It contacts the configured address and no other.
package fhirclient

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/fhir"
)

// What may go wrong. Every other error may pass: the same can be tried again later.
var (
	// ErrRefused is a request that the record does not take, whenever it is sent.
	ErrRefused = errors.New("the record refused the request")
	// ErrConflict is a transaction on a resource that was changed since it was read, or is being changed.
	ErrConflict = errors.New("the record was changed in the meantime")
	// ErrPrecondition is an ErrConflict of a condition in the transaction itself.
	ErrPrecondition = fmt.Errorf("%w: status 412", ErrConflict)
	// ErrNotFound is a resource that the record does not have, or has no longer.
	ErrNotFound = errors.New("the record does not have it")
	// ErrForeign is an address of another server, which is not contacted.
	ErrForeign = errors.New("the record names an address that is not its own")
	// ErrTooLarge is more about one patient than is read.
	ErrTooLarge = errors.New("the record has more of this patient than is read")
)

// A Busy error says that the record asks to come back later, and when.
type Busy struct{ After time.Duration }

// Error names no address: it may hold a patient's.
func (b *Busy) Error() string { return "the record is busy" }

// Tokens give the token of a request.
type Tokens interface {
	// Token is a bearer token; empty for none. With renew the last one was not accepted.
	Token(ctx context.Context, renew bool) (string, error)
}

// A Client asks one record. It may be used by many goroutines.
type Client struct {
	base   string
	tokens Tokens
	http   *http.Client
	// Observe is told of each answer: the kind of request, and ok, busy, refused, conflict or failed. Nil for nobody.
	Observe func(kind, result string)
}

// New returns a Client for the record at a base address.
func New(base string, tokens Tokens, transport http.RoundTripper) *Client {
	return &Client{base: strings.TrimSuffix(base, "/"), tokens: tokens, http: Direct(transport)}
}

// Base is the address of the record, without a slash at its end.
func (c *Client) Base() string { return c.base }

// Direct is a client of HTTP that follows no redirect: what is about a patient goes to the configured address and no other.
func Direct(transport http.RoundTripper) *http.Client {
	return &http.Client{
		Transport:     transport,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

const (
	// attempts is how often a request is tried while the record asks to come back.
	//
	// Source: common practice.
	attempts = 4
	// timeout bounds one attempt.
	//
	// Source: common practice; searches of a busy record take seconds.
	timeout = 20 * time.Second
	// longestWait is how long a request waits because the record asks for it; beyond it the caller is told.
	//
	// Source: ours.
	longestWait = 10 * time.Second
	// shortestWait is the wait where the record does not say how long.
	//
	// Source: common practice.
	shortestWait = 500 * time.Millisecond
)

// exchange is one request, and how its answer is read.
type exchange struct {
	kind        string // for Observe
	method      string
	url         string
	contentType string // of the body
	body        []byte
	limit       int64 // of the answer, in bytes
}

// do sends a request and returns the body of its answer. While the record is busy it tries again, as long as the
// record asks for.
func (c *Client) do(ctx context.Context, e exchange) ([]byte, error) {
	renew := false
	var busy *Busy
	for attempt := 1; ; attempt++ {
		body, err := c.attempt(ctx, e, renew)
		switch {
		case errors.Is(err, errUnauthorised) && !renew:
			renew = true
		case errors.As(err, &busy) && attempt < attempts && busy.After <= longestWait:
			if err := sleep(ctx, max(busy.After, shortestWait<<(attempt-1))); err != nil {
				return nil, busy
			}
		default:
			return body, err
		}
	}
}

func sleep(ctx context.Context, d time.Duration) error {
	if deadline, ok := ctx.Deadline(); ok && time.Until(deadline) < d {
		return context.DeadlineExceeded
	}
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

var errUnauthorised = errors.New("the record does not accept the token")

// attempt sends a request once.
func (c *Client) attempt(ctx context.Context, e exchange, renew bool) (body []byte, err error) {
	defer func() { c.observe(e.kind, err) }()
	ctx, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, e.method, e.url, bytes.NewReader(e.body))
	if err != nil {
		return nil, ErrRefused
	}
	if err := c.authorise(ctx, request, renew); err != nil {
		return nil, err
	}
	request.Header.Set("Accept", "application/fhir+json")
	if e.contentType != "" {
		request.Header.Set("Content-Type", e.contentType)
		request.Header.Set("Prefer", "return=minimal")
	}
	response, err := c.http.Do(request)
	if err != nil {
		return nil, unsaid(ctx, err)
	}
	defer response.Body.Close()
	body, err = io.ReadAll(io.LimitReader(response.Body, e.limit+1))
	if problem := judge(response); problem != nil {
		return nil, problem
	}
	if err != nil {
		return nil, unsaid(ctx, err)
	}
	if int64(len(body)) > e.limit {
		return nil, ErrTooLarge
	}
	return body, nil
}

func (c *Client) authorise(ctx context.Context, r *http.Request, renew bool) error {
	if c.tokens == nil {
		return nil
	}
	token, err := c.tokens.Token(ctx, renew)
	if err == nil && token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
	}
	return err
}

// unsaid is a failure of the network without its text, which has the address that was asked.
func unsaid(ctx context.Context, err error) error {
	if ctx.Err() != nil && !errors.Is(ctx.Err(), context.DeadlineExceeded) {
		return ctx.Err()
	}
	return fmt.Errorf("the record could not be asked: %T", errors.Unwrap(err))
}

// judge says what a status means: a refusal of what was sent is final, everything else may pass.
func judge(response *http.Response) error {
	switch status := response.StatusCode; status {
	case http.StatusOK, http.StatusCreated:
		return nil
	case http.StatusUnauthorized:
		return errUnauthorised
	case http.StatusTooManyRequests, http.StatusServiceUnavailable:
		return &Busy{retryAfter(response.Header.Get("Retry-After"), time.Now())}
	case http.StatusConflict:
		return ErrConflict
	case http.StatusPreconditionFailed:
		return ErrPrecondition
	case http.StatusNotFound, http.StatusGone:
		return ErrNotFound
	case http.StatusBadRequest, http.StatusUnprocessableEntity, http.StatusRequestEntityTooLarge:
		return fmt.Errorf("%w: status %d", ErrRefused, status)
	default:
		return fmt.Errorf("the record answered with status %d; expected 200", status)
	}
}

// retryAfter reads the header Retry-After: seconds, or a time. 0 if it says nothing.
//
// Source: RFC 9110, section 10.2.3.
func retryAfter(text string, now time.Time) time.Duration {
	if seconds, err := strconv.ParseUint(text, 10, 31); err == nil {
		return time.Duration(seconds) * time.Second
	}
	if at, err := http.ParseTime(text); err == nil {
		return max(at.Sub(now), 0)
	}
	return 0
}

func (c *Client) observe(kind string, err error) {
	if c.Observe == nil {
		return
	}
	var busy *Busy
	result := "failed"
	switch {
	case err == nil:
		result = "ok"
	case errors.As(err, &busy):
		result = "busy"
	case errors.Is(err, ErrConflict):
		result = "conflict"
	case errors.Is(err, ErrRefused), errors.Is(err, ErrNotFound), errors.Is(err, ErrForeign), errors.Is(err, ErrTooLarge):
		result = "refused"
	}
	c.Observe(kind, result)
}

// maxStored bounds what is read of the answer to a transaction, in bytes; what matters is its status.
const maxStored = 8 << 20

// Store posts a transaction. After an error that is none of those above it may be stored or not; posting it again
// stores nothing twice.
func (c *Client) Store(ctx context.Context, transaction []byte) error {
	_, err := c.do(ctx, exchange{kind: "transaction", method: http.MethodPost, url: c.base, contentType: "application/fhir+json; charset=utf-8", body: transaction, limit: maxStored})
	if errors.Is(err, ErrNotFound) { // a reference to what is there no more, or a wrong base
		return fmt.Errorf("%w: status 404", ErrRefused)
	}
	return err
}

// maxBytes bounds what is read of one patient, in bytes: what a request may have.
var maxBytes = int64(fhir.DefaultLimits.Bytes)
