package auth

import (
	"crypto/ecdsa"
	"crypto/rsa"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"time"

	"github.com/go-jose/go-jose/v4"
)

// keySet is the key set that an issuer published, until it expires.
type keySet struct {
	keys  []jose.JSONWebKey
	until time.Time
}

// minRSA is the least length of an RSA key, in bits.
//
// Source: RFC 7518, section 3.3.
const minRSA = 2048

var errNoKeys = errors.New("no key for signatures in the answer")

// parseKeys reads a JSON Web Key Set. It leaves out what cannot verify a token:
// keys for encryption, symmetric, private and short ones, and unknown kinds.
func parseKeys(text []byte) ([]jose.JSONWebKey, error) {
	var set struct {
		Keys []json.RawMessage `json:"keys"`
	}
	if err := json.Unmarshal(text, &set); err != nil {
		return nil, errors.New("the answer is no JSON Web Key Set")
	}
	var keys []jose.JSONWebKey
	for _, raw := range set.Keys {
		var key jose.JSONWebKey
		if err := json.Unmarshal(raw, &key); err == nil && verifies(key) {
			keys = append(keys, key)
		}
	}
	if len(keys) == 0 {
		return nil, errNoKeys
	}
	return keys, nil
}

// verifies reports whether a key may verify signatures.
func verifies(k jose.JSONWebKey) bool {
	if k.KeyID == "" || k.Use != "" && k.Use != "sig" || !k.Valid() {
		return false
	}
	switch key := k.Key.(type) {
	case *rsa.PublicKey:
		return key.N.BitLen() >= minRSA
	case *ecdsa.PublicKey:
		return true
	}
	return false
}

// find returns the one key with an id that fits an algorithm. It returns none if the
// set is absent or expired, or if two keys fit.
func (s *keySet) find(kid string, algorithm jose.SignatureAlgorithm) (any, bool) {
	if !s.usable() {
		return nil, false
	}
	fits := func(k jose.JSONWebKey) bool { return k.KeyID == kid && suits(k, algorithm) }
	i := slices.IndexFunc(s.keys, fits)
	if i < 0 || slices.ContainsFunc(s.keys[i+1:], fits) {
		return nil, false
	}
	return s.keys[i].Key, true
}

// usable reports whether the set may still be used.
func (s *keySet) usable() bool { return s != nil && time.Now().Before(s.until) }

// curves are those of the algorithms on elliptic curves.
//
// Source: RFC 7518, section 3.4.
var curves = map[jose.SignatureAlgorithm]string{jose.ES256: "P-256", jose.ES384: "P-384", jose.ES512: "P-521"}

// suits reports whether a key is of the kind of an algorithm.
func suits(k jose.JSONWebKey, algorithm jose.SignatureAlgorithm) bool {
	if k.Algorithm != "" && k.Algorithm != string(algorithm) {
		return false
	}
	switch key := k.Key.(type) {
	case *rsa.PublicKey:
		return strings.HasPrefix(string(algorithm), "RS") || strings.HasPrefix(string(algorithm), "PS")
	case *ecdsa.PublicKey:
		return curves[algorithm] == key.Curve.Params().Name
	}
	return false
}
