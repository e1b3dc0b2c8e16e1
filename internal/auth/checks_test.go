package auth

import (
	"strconv"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"

	"evenreach.example/internal/auth/authtest"
)

// present tries a token that is signed already.
func (w *world) present(token string) Reason {
	w.t.Helper()
	_, err := w.auth.Authenticate(w.t.Context(), Credentials{Authorization: []string{"Bearer " + token}})
	return reasonOf(err)
}

// Strangers who make all checks busy do not keep out whose token is known.
func TestChecksAreBounded(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		known := authtest.New(issuerName).Sign(t)
		if got := w.present(known); got != "" {
			t.Fatalf("refused for %q", got)
		}
		for range cap(w.auth.checks) {
			w.auth.checks <- struct{}{}
		}
		begin := time.Now()
		if got := w.present(authtest.New(issuerName).With(map[string]any{"jti": "2"}).Sign(t)); got != Busy {
			t.Errorf("a new token while all checks are taken: refused for %q, want %q", got, Busy)
		}
		if took := time.Since(begin); took != checkPatience {
			t.Errorf("it waited %v, want %v", took, checkPatience)
		}
		if got := w.present(known); got != "" {
			t.Errorf("a known token while all checks are taken: refused for %q", got)
		}
		w.auth.checks.leave()
		if got := w.present(authtest.New(issuerName).With(map[string]any{"jti": "3"}).Sign(t)); got != "" {
			t.Errorf("a new token once there is room: refused for %q", got)
		}
		if len(w.auth.checks) != cap(w.auth.checks)-1 {
			t.Errorf("%d checks run, want %d: a check that has ended leaves", len(w.auth.checks), cap(w.auth.checks)-1)
		}
	})
}

// What is known of a token is its signature, and no longer than its key is published.
func TestKnownTokens(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		token := authtest.New(issuerName).Sign(t)
		for range 2 {
			if got := w.present(token); got != "" {
				t.Fatalf("refused for %q", got)
			}
		}
		if got := w.present(token[:len(token)-4]); got != Signature {
			t.Errorf("a known token without its end: refused for %q, want %q", got, Signature)
		}
		w.auth.config.Clients = []string{"other"}
		if got := w.present(token); got != Client {
			t.Errorf("a client that is no longer let in: refused for %q, want %q", got, Client)
		}
		w.auth.config.Clients = nil
		time.Sleep(5*time.Minute + leeway + time.Second)
		if got := w.present(token); got != Expired {
			t.Errorf("a known token that has expired: refused for %q, want %q", got, Expired)
		}

		token = authtest.New(issuerName).Sign(t)
		if got := w.present(token); got != "" {
			t.Fatalf("refused for %q", got)
		}
		w.net.set(publish(authtest.Published(jose.JSONWebKey{Key: authtest.RSA().Public(), KeyID: "rsa"})))
		time.Sleep(151 * time.Second)
		if got := w.present(token); got != UnknownKey {
			t.Errorf("a known token whose key was taken back: refused for %q, want %q", got, UnknownKey)
		}
	})
}

func TestKnownTokensAreBounded(t *testing.T) {
	var known knownTokens
	keys := &keySet{until: time.Now().Add(time.Hour)}
	s := new(source)
	s.keys.Store(keys)
	for i := range maxKnown {
		known.add(strconv.Itoa(i), new(claims), s, keys)
	}
	if known.find("0") == nil {
		t.Errorf("the first of %d tokens is forgotten, want it known until there are more", maxKnown)
	}
	for i := range 3*maxKnown + 1 {
		known.add(strconv.Itoa(i), new(claims), s, keys)
		if known.find(strconv.Itoa(i)) == nil {
			t.Fatalf("token %d is not known though it was just added", i)
		}
	}
	if len(known.all) > maxKnown {
		t.Errorf("%d tokens are known, want at most %d", len(known.all), maxKnown)
	}
}

func TestLifeOfTokens(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		w.auth.config.MaxLife = time.Hour
		for life, want := range map[time.Duration]Reason{
			time.Hour:                        "",
			time.Hour + leeway:               "",
			time.Hour + leeway + time.Second: Lifetime,
			10 * 365 * 24 * time.Hour:        Lifetime,
			-leeway - time.Second:            Expired,
		} {
			if got := w.ask(authtest.New(issuerName).With(map[string]any{"exp": time.Now().Add(life).Unix()})); got != want {
				t.Errorf("valid for %v more: refused for %q, want %q", life, got, want)
			}
		}
		w.auth.config.MaxLife = 0
		if got := w.ask(authtest.New(issuerName).With(map[string]any{"exp": time.Now().AddDate(1, 0, 0).Unix()})); got != "" {
			t.Errorf("valid for a year without a limit: refused for %q", got)
		}
	})
}
