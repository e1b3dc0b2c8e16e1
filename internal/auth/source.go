package auth

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"sync/atomic"
	"time"

	"github.com/go-jose/go-jose/v4"

	"evenreach.example/internal/ops"
)

const (
	fetchTimeout = 5 * time.Second
	// minInterval bounds how often tokens with unknown keys make the service
	// ask an issuer. It is shorter than maxWait, so that the first token of a new key
	// waits for the next time and is let in, whoever made the service ask just before.
	minInterval = time.Second
	// retryInterval is the time to the next attempt after a failure.
	retryInterval = 15 * time.Second
	// maxWait bounds how long a request waits for keys.
	maxWait = 2 * time.Second
	// maxKeys bounds a key set, in bytes: one of ten keys has some ten thousand.
	maxKeys = 1 << 20
)

// A source keeps the keys of one issuer. Only its own goroutine fetches; requests read
// the keys that it has, and ask it to fetch again if theirs is missing.
type source struct {
	issuer  Issuer
	client  *http.Client
	metrics *ops.AuthMetrics
	log     *slog.Logger
	loaded  func()
	asks    chan chan struct{}
	keys    atomic.Pointer[keySet]
}

func newSource(issuer Issuer, client *http.Client, metrics *ops.AuthMetrics, log *slog.Logger, loaded func()) *source {
	direct := *client
	direct.CheckRedirect = refuseRedirect
	return &source{issuer: issuer, client: &direct, metrics: metrics, log: log, loaded: loaded, asks: make(chan chan struct{})}
}

// run fetches the keys when they are due and when a request asks.
func (s *source) run(ctx context.Context) {
	due := time.NewTimer(0)
	defer due.Stop()
	var (
		waiting []chan struct{} // requests that asked since the last fetch began
		last    time.Time
	)
	for {
		select {
		case <-ctx.Done():
			return
		case asked := <-s.asks:
			if waiting == nil {
				due.Reset(max(0, minInterval-time.Since(last)))
			}
			waiting = append(waiting, asked)
			continue
		case <-due.C:
		}
		due.Reset(s.renew(ctx))
		last = time.Now()
		for _, asked := range waiting {
			close(asked)
		}
		waiting = nil
	}
}

// renew fetches the keys and returns the time until the next fetch. If it fails, the
// present keys stay until they expire.
func (s *source) renew(ctx context.Context) time.Duration {
	fetched := time.Now()
	keys, life, err := s.fetch(ctx)
	s.metrics.Fetched(s.issuer.Name, err == nil, fetched)
	if err != nil {
		s.log.LogAttrs(ctx, slog.LevelWarn, "keys not fetched",
			slog.String("issuer", s.issuer.Name), slog.String("error", err.Error()))
		return retryInterval
	}
	s.keys.Store(&keySet{keys, fetched.Add(life.usable)})
	s.loaded()
	return life.fresh
}

// refuseRedirect follows no redirection: keys come from the configured address only.
func refuseRedirect(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }

// fetch asks the issuer for its keys.
func (s *source) fetch(ctx context.Context) ([]jose.JSONWebKey, lifetime, error) {
	ctx, cancel := context.WithTimeout(ctx, fetchTimeout)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, s.issuer.Keys, nil)
	if err != nil {
		return nil, lifetime{}, err
	}
	request.Header.Set("Accept", "application/jwk-set+json, application/json")
	answer, err := s.client.Do(request)
	if err != nil {
		return nil, lifetime{}, err
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return nil, lifetime{}, fmt.Errorf("found status %d; expected 200", answer.StatusCode)
	}
	text, err := io.ReadAll(io.LimitReader(answer.Body, maxKeys+1))
	if err != nil {
		return nil, lifetime{}, err
	}
	if len(text) > maxKeys {
		return nil, lifetime{}, fmt.Errorf("the answer is over the limit; expected at most %d bytes", maxKeys)
	}
	keys, err := parseKeys(text)
	return keys, lifetimeOf(answer.Header), err
}

// key returns the key with an id for an algorithm. If it is missing, the issuer may
// have changed its keys, so they are fetched again, at most once in minInterval, for
// which the request waits.
func (s *source) key(ctx context.Context, kid string, algorithm jose.SignatureAlgorithm) (any, Reason) {
	if key, ok := s.keys.Load().find(kid, algorithm); ok {
		return key, ""
	}
	s.ask(ctx)
	keys := s.keys.Load()
	if key, ok := keys.find(kid, algorithm); ok {
		return key, ""
	}
	if !keys.usable() {
		return nil, KeysNotThere
	}
	return nil, UnknownKey
}

// ask waits until the keys have been fetched again, at most as long as maxWait.
func (s *source) ask(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, maxWait)
	defer cancel()
	done := make(chan struct{})
	select {
	case s.asks <- done:
	case <-ctx.Done():
		return
	}
	select {
	case <-done:
	case <-ctx.Done():
	}
}
