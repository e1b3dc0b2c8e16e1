package population

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
)

// Identity is how outputs name a patient: by a keyed digest of the record number, so that
// who has the key can tell whom a line means, and nobody else.
type Identity struct {
	key []byte // nil to keep the record numbers
}

// Hashed names patients by a digest under a key.
//
// Source: RFC 2104 (HMAC) with SHA-256, cut to 128 bits.
func Hashed(key []byte) Identity { return Identity{key} }

// Kept names patients by their record numbers.
func Kept() Identity { return Identity{} }

// Of names a patient.
func (i Identity) Of(patient string) string {
	if i.key == nil {
		return patient
	}
	mac := hmac.New(sha256.New, i.key)
	_, _ = mac.Write([]byte(patient)) // never fails
	return hex.EncodeToString(mac.Sum(nil)[:16])
}
