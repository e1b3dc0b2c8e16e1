package fhirclient

import (
	"context"
	"crypto"
	"crypto/ecdsa"
	"crypto/rsa"
	"crypto/x509"
	"encoding/json"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/go-jose/go-jose/v4"
	"github.com/go-jose/go-jose/v4/jwt"
	"github.com/google/uuid"
)

// A TokenFile is a file with the token, which something else renews: it is read for each request.
type TokenFile string

// Token implements Tokens.
func (f TokenFile) Token(context.Context, bool) (string, error) {
	token, err := os.ReadFile(string(f))
	return strings.TrimSpace(string(token)), err
}

// Backend is a client of SMART Backend Services, which proves who it is by a signature.
//
// Source: HL7 SMART App Launch 2, Backend Services; RFC 7523.
type Backend struct {
	ClientID string
	TokenURL string
	Scopes   string // separated by spaces
	// KeyFile is the private key: a JSON Web Key, or PKCS 8 in PEM. It is read for each token, so that it can be
	// replaced at any time.
	KeyFile string
	HTTP    *http.Client

	mu    sync.Mutex
	token string
	until time.Time
}

// NewBackend returns a client that has no token yet.
func NewBackend(id, tokenURL, scopes, keyFile string, transport http.RoundTripper) *Backend {
	return &Backend{ClientID: id, TokenURL: tokenURL, Scopes: scopes, KeyFile: keyFile, HTTP: Direct(transport)}
}

const (
	// assertionLife is how long a signed request for a token is valid.
	//
	// Source: SMART App Launch 2, client authentication: at most five minutes.
	assertionLife = 4 * time.Minute
	// margin is how long before its end a token is renewed, so that none ends on its way.
	//
	// Source: common practice.
	margin = 30 * time.Second
	// maxTokenAnswer bounds the answer of the token server, in bytes.
	maxTokenAnswer = 64 << 10
	assertionType  = "urn:ietf:params:oauth:client-assertion-type:jwt-bearer"
)

// Token implements Tokens. One request for a token runs at a time; the others wait for it.
func (b *Backend) Token(ctx context.Context, renew bool) (string, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !renew && time.Now().Before(b.until) {
		return b.token, nil
	}
	asked := time.Now()
	granted, err := b.ask(ctx)
	if err != nil {
		return "", err
	}
	b.token, b.until = granted.Token, asked.Add(time.Duration(granted.ExpiresIn)*time.Second-margin)
	return b.token, nil
}

// granted is the answer of the token server.
type granted struct {
	Token     string `json:"access_token"`
	Type      string `json:"token_type"`
	ExpiresIn int    `json:"expires_in"` // seconds
}

var errToken = errors.New("the token server gave no token")

func (b *Backend) ask(ctx context.Context) (granted, error) {
	assertion, err := b.assertion()
	if err != nil {
		return granted{}, err
	}
	form := url.Values{"grant_type": {"client_credentials"}, "scope": {b.Scopes}, "client_assertion_type": {assertionType}, "client_assertion": {assertion}}
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, b.TokenURL, strings.NewReader(form.Encode()))
	if err != nil {
		return granted{}, errToken
	}
	request.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	request.Header.Set("Accept", "application/json")
	response, err := b.HTTP.Do(request)
	if err != nil {
		return granted{}, errToken
	}
	defer response.Body.Close()
	var g granted
	text, err := io.ReadAll(io.LimitReader(response.Body, maxTokenAnswer))
	if err != nil || response.StatusCode != http.StatusOK {
		return granted{}, fmt.Errorf("%w: status %d", errToken, response.StatusCode)
	}
	if json.Unmarshal(text, &g) != nil || g.Token == "" || !strings.EqualFold(g.Type, "bearer") || strings.ContainsAny(g.Token, " \r\n") {
		return granted{}, fmt.Errorf("%w: expected access_token and the token_type bearer", errToken)
	}
	return g, nil
}

// assertion is the signed proof of who asks.
func (b *Backend) assertion() (string, error) {
	key, err := ReadKey(b.KeyFile)
	if err != nil {
		return "", err
	}
	algorithm := jose.RS384
	if _, elliptic := key.Key.(*ecdsa.PrivateKey); elliptic {
		algorithm = jose.ES384
	}
	signer, err := jose.NewSigner(jose.SigningKey{Algorithm: algorithm, Key: key}, (&jose.SignerOptions{}).WithType("JWT"))
	if err != nil {
		return "", err
	}
	now := time.Now()
	return jwt.Signed(signer).Claims(jwt.Claims{
		Issuer: b.ClientID, Subject: b.ClientID, Audience: jwt.Audience{b.TokenURL}, ID: uuid.NewString(),
		Expiry: jwt.NewNumericDate(now.Add(assertionLife)), IssuedAt: jwt.NewNumericDate(now),
	}).Serialize()
}

// ReadKey reads a private key: a JSON Web Key, or PKCS 8 in PEM, whose id is then the thumbprint of its public
// key. It is RSA of at least 2048 bits, or on P-384.
//
// Source: SMART App Launch 2, client authentication: RS384 or ES384; RFC 7638.
func ReadKey(file string) (jose.JSONWebKey, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return jose.JSONWebKey{}, err
	}
	key, err := parseKey(text)
	if err != nil {
		return jose.JSONWebKey{}, fmt.Errorf("%s: %w", file, err)
	}
	return key, nil
}

var errKey = errors.New("found no private key of RSA with at least 2048 bits or on P-384; expected one, as JSON Web Key with kid or as PKCS 8 in PEM")

func parseKey(text []byte) (key jose.JSONWebKey, err error) {
	if block, _ := pem.Decode(text); block != nil {
		if key.Key, err = x509.ParsePKCS8PrivateKey(block.Bytes); err != nil {
			return key, errKey
		}
		public := jose.JSONWebKey{Key: key.Key}
		public = public.Public()
		thumbprint, err := public.Thumbprint(crypto.SHA256)
		if err != nil {
			return key, errKey
		}
		key.KeyID = fmt.Sprintf("%x", thumbprint)
	} else if json.Unmarshal(text, &key) != nil || key.KeyID == "" {
		return key, errKey
	}
	switch k := key.Key.(type) {
	case *rsa.PrivateKey:
		if k.N.BitLen() >= 2048 {
			return key, nil
		}
	case *ecdsa.PrivateKey:
		if k.Curve.Params().Name == "P-384" {
			return key, nil
		}
	}
	return key, errKey
}
