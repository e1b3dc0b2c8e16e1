package recordtest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/go-jose/go-jose/v4/jwt"
	"github.com/google/uuid"
)

// ClientID is the client that the token server knows.
const ClientID = "evenreach-of-the-test"

// Tokens is a token server of SMART Backend Services, from its specification.
type Tokens struct {
	URL     string
	KeyFile string        // the private key of the client
	Life    time.Duration // of a token

	key    *ecdsa.PrivateKey
	mu     sync.Mutex
	valid  map[string]time.Time // tokens, and when they end
	used   map[string]bool      // ids of assertions
	Scopes []string             // that were asked for
}

// NewTokens starts a token server, which ends with the test.
func NewTokens(t testing.TB) *Tokens {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P384(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	s := &Tokens{key: key, Life: 5 * time.Minute, valid: map[string]time.Time{}, used: map[string]bool{}, KeyFile: filepath.Join(t.TempDir(), "key.json")}
	text, err := json.Marshal(jose.JSONWebKey{Key: key, KeyID: "test"})
	if err == nil {
		err = os.WriteFile(s.KeyFile, text, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(s)
	t.Cleanup(server.Close)
	s.URL = server.URL + "/token"
	return s
}

// ServeHTTP gives a token for a signed assertion that was not used before.
//
// Source: SMART App Launch 2, Backend Services, obtaining an access token.
func (s *Tokens) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if problem := s.refuse(r); problem != "" {
		w.WriteHeader(http.StatusBadRequest)
		answer(w, map[string]string{"error": problem})
		return
	}
	token := uuid.NewString()
	s.valid[token] = time.Now().Add(s.Life)
	s.Scopes = append(s.Scopes, r.PostForm.Get("scope"))
	answer(w, map[string]any{"access_token": token, "token_type": "bearer", "expires_in": int(s.Life.Seconds()), "scope": r.PostForm.Get("scope")})
}

func (s *Tokens) refuse(r *http.Request) string {
	if r.ParseForm() != nil || r.PostForm.Get("grant_type") != "client_credentials" || r.PostForm.Get("scope") == "" ||
		r.PostForm.Get("client_assertion_type") != "urn:ietf:params:oauth:client-assertion-type:jwt-bearer" {
		return "invalid_request"
	}
	token, err := jwt.ParseSigned(r.PostForm.Get("client_assertion"), []jose.SignatureAlgorithm{jose.ES384})
	var c jwt.Claims
	if err != nil || token.Headers[0].KeyID != "test" || token.Headers[0].ExtraHeaders["typ"] != "JWT" || token.Claims(s.key.Public(), &c) != nil {
		return "invalid_client"
	}
	wanted := jwt.Expected{Issuer: ClientID, Subject: ClientID, AnyAudience: jwt.Audience{s.URL}, Time: time.Now()}
	if c.Validate(wanted) != nil || c.ID == "" || s.used[c.ID] || c.Expiry == nil || time.Until(c.Expiry.Time()) > 5*time.Minute {
		return "invalid_client"
	}
	s.used[c.ID] = true
	return ""
}

// Accepts reports whether a header has a token that is valid.
func (s *Tokens) Accepts(authorization string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return time.Now().Before(s.valid[strings.TrimPrefix(authorization, "Bearer ")])
}

// Revoke takes back every token.
func (s *Tokens) Revoke() {
	s.mu.Lock()
	defer s.mu.Unlock()
	clear(s.valid)
}

// Given is how many tokens were given.
func (s *Tokens) Given() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.used)
}
