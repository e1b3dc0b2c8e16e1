package service

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"sync"
	"time"

	"golang.org/x/time/rate"
	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/ops"
)

// Fairness is what one client may take, so that the others are answered whatever it asks
// for. It has no limits for callers without a client.
type Fairness struct {
	Rate       float64 // requests a second in the long run; 0 for no limit
	Burst      int     // at once, at least 1 if there is a rate
	Concurrent int     // at a time; 0 for no limit
}

// shares are what the clients of one tenant have taken.
type shares struct {
	limits Fairness
	tenant string
	watch  *ops.Watch

	mu  sync.Mutex
	all map[string]*share
}

// share is what one client has taken.
type share struct {
	bucket  *rate.Limiter
	running gate // nil for no limit
}

// maxShares bounds the clients that are told apart; beyond it all others share one share. Ours:
// far more than a hospital has.
const maxShares = 1000

func newShares(limits Fairness, watch *ops.Watch, tenant string) *shares {
	return &shares{limits: limits, tenant: tenant, watch: watch, all: map[string]*share{}}
}

// sharesOf are those of the tenant of a request.
func (s *Server) sharesOf(ctx context.Context) *shares { return s.shares.of(s.served(ctx).name) }

// of is the share of a client.
func (s *shares) of(client string) *share {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.all[client] == nil && len(s.all) >= maxShares {
		client = "" // nobody's: see enter
	}
	if s.all[client] == nil {
		s.all[client] = s.limits.newShare()
	}
	return s.all[client]
}

// newShare is an unused share.
func (f Fairness) newShare() *share {
	s := &share{bucket: rate.NewLimiter(rate.Inf, 0)}
	if f.Rate > 0 {
		s.bucket = rate.NewLimiter(rate.Limit(f.Rate), f.Burst)
	}
	if f.Concurrent > 0 {
		s.running = make(gate, f.Concurrent)
	}
	return s
}

// leave ends a request.
func (s *share) leave() {
	if s.running != nil {
		s.running.leave()
	}
}

// enter begins a request of a client, or refuses it. A request that began has to leave.
func (s *shares) enter(client string) (leave func(), err error) {
	if client == "" {
		return func() {}, nil
	}
	own := s.of(client)
	if own.running != nil && !own.running.tryEnter() {
		s.watch.Throttled(s.tenant, client, "concurrent")
		return nil, tooManyOf(fmt.Sprintf("expected at most %d of its requests at a time", s.limits.Concurrent), time.Second)
	}
	now := time.Now()
	turn := own.bucket.ReserveN(now, 1)
	if wait := turn.DelayFrom(now); wait > 0 {
		turn.CancelAt(now)
		own.leave()
		s.watch.Throttled(s.tenant, client, "rate")
		return nil, tooManyOf(fmt.Sprintf("expected at most %g of its requests a second", s.limits.Rate), wait)
	}
	return own.leave, nil
}

// wait begins a request of a client when it is its turn, as a stream does.
func (s *shares) wait(ctx context.Context, client string) (leave func(), err error) {
	if client == "" {
		return func() {}, nil
	}
	own := s.of(client)
	if own.running != nil {
		if err := own.running.enter(ctx); err != nil {
			return nil, err
		}
	}
	if own.bucket.Wait(ctx) != nil {
		own.leave()
		return nil, context.DeadlineExceeded // or it would pass before the turn comes
	}
	return own.leave, nil
}

// tooMany refuses a request of a client that takes more than its share.
type tooMany struct {
	*fault.Errors
	again time.Duration // when to ask again
}

func tooManyOf(expected string, again time.Duration) *tooMany {
	return &tooMany{fault.Refuse(fault.Throttled, "", "the client takes more than its share; "+expected), again}
}

// Unwrap gives the issue.
func (t *tooMany) Unwrap() error { return t.Errors }

// retryAfter is the value of Retry-After for a refusal: whole seconds.
func retryAfter(err error) string {
	again := time.Second
	if throttled, ok := errors.AsType[*tooMany](err); ok {
		again = throttled.again
	}
	return strconv.Itoa(max(1, int(math.Ceil(again.Seconds()))))
}

// pushBack tells a caller by gRPC when to ask again.
//
// Source: gRFC A6, client retries: pushback by the server.
func (t *tooMany) pushBack(ctx context.Context) {
	// It fails only outside of an RPC, where there is nobody to tell.
	_ = grpc.SetTrailer(ctx, metadata.Pairs("grpc-retry-pushback-ms", strconv.FormatInt(max(1, t.again.Milliseconds()), 10)))
}

// limitClient refuses a request beyond the share of its client. It runs behind authenticate, which says
// who the client is.
func (s *Server) limitClient(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		leave, err := s.sharesOf(r.Context()).enter(ops.CallFrom(r.Context()).Client)
		if err != nil {
			s.writeRefusal(w, r, err)
			return
		}
		defer leave()
		next.ServeHTTP(w, r)
	})
}
