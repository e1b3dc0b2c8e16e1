package auth

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
)

// thumbprint names the certificate that a token is bound to, in the claim cnf.
//
// Source: RFC 8705, section 3.1.
const thumbprint = "x5t#S256"

// bound checks that who sends a token may: that the certificate of its connection is the
// one to which the token is bound. What else a token is bound to is not understood here
// and refuses it.
//
// Source: RFC 8705, section 3; RFC 7800, section 3.1.
func (a *Authenticator) bound(c *claims, certificate []byte) Reason {
	if c.Confirmation == nil {
		if a.config.Bound {
			return Unbound
		}
		return ""
	}
	stated, ok := c.Confirmation[thumbprint].(string)
	if !ok || len(c.Confirmation) != 1 || certificate == nil {
		return Bound
	}
	digest := sha256.Sum256(certificate)
	if subtle.ConstantTimeCompare([]byte(stated), []byte(base64.RawURLEncoding.EncodeToString(digest[:]))) == 0 {
		return Bound
	}
	return ""
}
