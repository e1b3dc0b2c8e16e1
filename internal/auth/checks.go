package auth

import (
	"context"
	"crypto/sha256"
	"runtime"
	"sync"
	"time"
)

// checks bounds how many signatures are checked at a time. A check takes a processor about
// as long as a short assessment does, and anybody can ask for one by a token that he made
// up; without a bound a crowd of such callers would take all processors.
type checks chan struct{}

// newChecks allows as many as there are processors. Assessments have as many slots of
// their own, so that at least half of the time of the processors is theirs.
func newChecks() checks { return make(checks, runtime.GOMAXPROCS(0)) }

// checkPatience is how long a token waits to be checked. It is that of a request for a
// processor (internal/service).
const checkPatience = 250 * time.Millisecond

// enter waits for a slot, and reports whether there was one in time.
func (c checks) enter(ctx context.Context) bool {
	select {
	case c <- struct{}{}:
		return true
	default:
	}
	ctx, cancel := context.WithTimeout(ctx, checkPatience)
	defer cancel()
	select {
	case c <- struct{}{}:
		return true
	case <-ctx.Done():
		return false
	}
}

func (c checks) leave() { <-c }

// maxKnown bounds the tokens whose signature is not checked again. Ours: a hospital has
// some dozen clients, each with one token at a time.
const maxKnown = 1024

// knownTokens are tokens whose signature was good, by their digest: clients send theirs
// with each request. Everything else about a token is checked each time.
type knownTokens struct {
	mu  sync.Mutex
	all map[[sha256.Size]byte]knownToken
}

// knownToken counts as long as its issuer publishes the keys by which it was checked.
type knownToken struct {
	claims *claims
	source *source
	keys   *keySet
}

// find returns the claims of a token that is known, or nil.
func (k *knownTokens) find(text string) *claims {
	if len(text) > maxToken {
		return nil
	}
	digest := sha256.Sum256([]byte(text))
	k.mu.Lock()
	defer k.mu.Unlock()
	known, ok := k.all[digest]
	if !ok {
		return nil
	}
	if known.source.keys.Load() != known.keys || !known.keys.usable() {
		delete(k.all, digest)
		return nil
	}
	return known.claims
}

// add notes a token whose signature was good. If there are too many it begins anew: the
// others are checked once more.
func (k *knownTokens) add(text string, c *claims, source *source, keys *keySet) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.all == nil || len(k.all) >= maxKnown {
		k.all = map[[sha256.Size]byte]knownToken{}
	}
	k.all[sha256.Sum256([]byte(text))] = knownToken{c, source, keys}
}
