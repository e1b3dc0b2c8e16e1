package auth

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/ops"
)

const issuerName = "https://id.hospital.example"

// network answers requests for keys without a network.
type network struct {
	mu     sync.Mutex
	calls  int
	answer http.HandlerFunc
}

// RoundTrip implements http.RoundTripper.
func (n *network) RoundTrip(r *http.Request) (*http.Response, error) {
	n.mu.Lock()
	n.calls++
	answer := n.answer
	n.mu.Unlock()
	if answer == nil {
		return nil, errors.New("the network is down")
	}
	w := httptest.NewRecorder()
	answer(w, r)
	if err := r.Context().Err(); err != nil {
		return nil, err
	}
	return w.Result(), nil
}

func (n *network) set(answer http.HandlerFunc) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.answer = answer
}

func (n *network) count() int {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.calls
}

// hang answers when the caller has given up.
func hang(_ http.ResponseWriter, r *http.Request) { <-r.Context().Done() }

func publish(set []byte) http.HandlerFunc { return authtest.Serve(set).ServeHTTP }

// world is an Authenticator in a bubble of time.
type world struct {
	t    *testing.T
	net  *network
	auth *Authenticator
	log  bytes.Buffer
}

// inWorld runs a test with an Authenticator whose keys are kept, on a network
// that answers at first as given.
func inWorld(t *testing.T, answer http.HandlerFunc, test func(*world)) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		w := &world{t: t, net: &network{answer: answer}}
		w.auth = New(Config{
			Issuers:    []Issuer{{issuerName, issuerName + "/keys"}},
			Audience:   authtest.Audience,
			Algorithms: []jose.SignatureAlgorithm{jose.RS384, jose.ES384},
			HTTP:       &http.Client{Transport: w.net},
		}, ops.NewAuthMetrics(prometheus.NewRegistry()), slog.New(slog.NewJSONHandler(&w.log, nil)))
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() {
			defer close(done)
			w.auth.Run(ctx)
		}()
		synctest.Wait()
		test(w)
		stop()
		<-done
	})
}

// ask tries a token and returns why it was refused.
func (w *world) ask(token authtest.Token) Reason {
	w.t.Helper()
	_, err := w.auth.Authenticate(w.t.Context(), Credentials{Authorization: []string{"Bearer " + token.Sign(w.t)}})
	return reasonOf(err)
}

// reasonOf is why a caller was refused.
func reasonOf(err error) Reason {
	if refused, ok := errors.AsType[*Refusal](err); ok {
		return refused.Reason
	}
	return ""
}

// want checks a token's verdict.
func (w *world) want(what string, want Reason) {
	w.t.Helper()
	if got := w.ask(authtest.New(issuerName)); got != want {
		w.t.Errorf("%s: refused for %q, want %q", what, got, want)
	}
}

func TestKeysAreRenewedAtHalfTheirTime(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		time.Sleep(time.Hour + time.Second)
		if got, want := w.net.count(), 1+3600/150; got != want {
			t.Errorf("%d fetches in an hour, want %d: max-age is 300 s", got, want)
		}
	})
}

func TestKeysServeUntilTheyExpire(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		w.want("at first", "")
		w.net.set(nil)
		time.Sleep(299 * time.Second)
		w.want("the issuer is down", "")
		if !w.auth.Usable() {
			t.Error("the keys that serve are said to be unusable")
		}
		time.Sleep(2 * time.Second)
		w.want("the keys have expired", KeysNotThere)
		if w.auth.Usable() {
			t.Error("expired keys are said to be usable")
		}
		w.net.set(publish(authtest.KeySet()))
		time.Sleep(retryInterval)
		w.want("the issuer is back", "")
		if !strings.Contains(w.log.String(), `"msg":"keys not fetched"`) {
			t.Errorf("the log does not tell of failures: %s", &w.log)
		}
	})
}

func TestRotatedKeyIsFetched(t *testing.T) {
	fresh := jose.JSONWebKey{Key: authtest.P384().Public(), KeyID: "ec"}
	inWorld(t, publish(authtest.Published(jose.JSONWebKey{Key: authtest.RSA().Public(), KeyID: "rsa"})), func(w *world) {
		w.want("before the rotation", UnknownKey)
		w.net.set(publish(authtest.Published(fresh)))
		w.want("right after the rotation, though the issuer was asked just before", "")
		old := authtest.New(issuerName)
		old.Algorithm, old.Key, old.KeyID = jose.RS384, authtest.RSA(), "rsa"
		if got := w.ask(old); got != UnknownKey {
			t.Errorf("a key that was taken back: refused for %q, want %q", got, UnknownKey)
		}
	})
}

// An issuer that was not asked lately is asked at once, and one that was after the least
// interval, counted from then.
func TestHowLongAnUnknownKeyWaits(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		unknown := authtest.New(issuerName)
		unknown.KeyID = "unknown"
		for _, tt := range []struct{ since, want time.Duration }{
			{minInterval, 0}, {0, minInterval}, {minInterval / 4, 3 * minInterval / 4}, {2 * minInterval, 0},
		} {
			time.Sleep(tt.since)
			begin, before := time.Now(), w.net.count()
			if got := w.ask(unknown); got != UnknownKey || time.Since(begin) != tt.want || w.net.count() != before+1 {
				t.Errorf("%v after a fetch: refused for %q after %v and %d fetches, want %q after %v and one", tt.since, got, time.Since(begin), w.net.count()-before, UnknownKey, tt.want)
			}
		}
	})
}

func TestFetchesAreCounted(t *testing.T) {
	registry := prometheus.NewRegistry()
	synctest.Test(t, func(t *testing.T) {
		net := &network{answer: publish(authtest.KeySet())}
		a := New(Config{Issuers: []Issuer{{issuerName, issuerName + "/keys"}}, HTTP: &http.Client{Transport: net}}, ops.NewAuthMetrics(registry), slog.New(slog.DiscardHandler))
		ctx, stop := context.WithCancel(t.Context())
		done := make(chan struct{})
		go func() { defer close(done); a.Run(ctx) }()
		time.Sleep(time.Second)
		net.set(nil)
		time.Sleep(150*time.Second + retryInterval)
		stop()
		<-done
	})
	families, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, family := range families {
		if family.GetName() != "evenreach_jwks_fetches_total" {
			continue
		}
		for _, metric := range family.GetMetric() {
			want := map[string]float64{"ok": 1, "failed": 2}[metric.GetLabel()[1].GetValue()]
			if got := metric.GetCounter().GetValue(); got != want {
				t.Errorf("%v: %v fetches, want %v", metric.GetLabel(), got, want)
			}
		}
	}
}

// The bound is the point: whoever can send tokens must not be able to make the
// service flood the issuer.
func TestUnknownKeysFetchAtABoundedRate(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		unknown := authtest.New(issuerName)
		unknown.KeyID = "unknown"
		start, began := w.net.count(), time.Now()
		for range 100 {
			var group sync.WaitGroup
			for range 10 {
				group.Go(func() {
					if got := w.ask(unknown); got != UnknownKey {
						t.Errorf("refused for %q, want %q", got, UnknownKey)
					}
				})
			}
			group.Wait()
			time.Sleep(100 * time.Millisecond)
		}
		if got, most := w.net.count()-start, int(time.Since(began)/minInterval)+1; got > most {
			t.Errorf("%d fetches in %v for 1000 tokens, want at most one a second", got, time.Since(began))
		}
	})
}

// All of them ask before the next fetch is allowed, because the clock of the test moves only
// when everybody waits.
func TestManyRequestsShareAFetch(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		start := w.net.count()
		unknown := authtest.New(issuerName)
		unknown.KeyID = "unknown"
		var group sync.WaitGroup
		for range 100 {
			group.Go(func() { w.ask(unknown) })
		}
		group.Wait()
		if got := w.net.count() - start; got != 1 {
			t.Errorf("%d fetches for 100 requests, want 1", got)
		}
	})
}

func TestIssuerThatHangs(t *testing.T) {
	inWorld(t, hang, func(w *world) {
		begin := time.Now()
		w.want("no keys yet", KeysNotThere)
		if took := time.Since(begin); took > maxWait {
			t.Errorf("a request waited %v for the issuer, want at most %v", took, maxWait)
		}
		select {
		case <-w.auth.Ready():
			t.Error("ready without keys")
		default:
		}
		w.net.set(publish(authtest.KeySet()))
		time.Sleep(fetchTimeout + retryInterval - time.Since(begin))
		synctest.Wait()
		w.want("the issuer answers", "")
	})
}

func TestRequestThatEndsDoesNotWait(t *testing.T) {
	inWorld(t, hang, func(w *world) {
		ctx, cancel := context.WithTimeout(w.t.Context(), time.Millisecond)
		defer cancel()
		begin := time.Now()
		_, err := w.auth.Authenticate(ctx, Credentials{Authorization: []string{"Bearer " + authtest.New(issuerName).Sign(t)}})
		if err == nil || time.Since(begin) > time.Millisecond {
			t.Errorf("error %v after %v, want a refusal at the caller's deadline", err, time.Since(begin))
		}
	})
}

// An issuer that lies keeps nobody in or out: the keys from before stay, and
// nothing it says is followed.
func TestIssuerThatLies(t *testing.T) {
	tests := []struct {
		name   string
		answer http.HandlerFunc
	}{
		{"error", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusInternalServerError) }},
		{"another status with keys", func(w http.ResponseWriter, _ *http.Request) {
			w.WriteHeader(http.StatusAccepted)
			_, _ = w.Write(authtest.KeySet())
		}},
		{"redirection", func(w http.ResponseWriter, r *http.Request) {
			if r.URL.Host == "elsewhere.example" {
				publish(authtest.KeySet())(w, r)
				return
			}
			http.Redirect(w, r, "https://elsewhere.example/keys", http.StatusFound)
		}},
		{"page", publish([]byte("<html>sign in</html>"))},
		{"no keys", publish([]byte(`{"keys":[]}`))},
		{"symmetric key", publish(authtest.Published(jose.JSONWebKey{Key: []byte("secret"), KeyID: "ec"}))},
		{"endless", publish(append(authtest.KeySet(), bytes.Repeat([]byte(" "), maxKeys)...))},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			inWorld(t, publish(authtest.KeySet()), func(w *world) {
				w.net.set(tt.answer)
				time.Sleep(200 * time.Second)
				w.want("the issuer lies", "")
				time.Sleep(200 * time.Second)
				w.want("the keys have expired", KeysNotThere)
			})
		})
	}
}
