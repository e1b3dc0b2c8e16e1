package auth

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/pem"
	"testing"

	"evenreach.example/internal/auth/authtest"
)

// Source: RFC 8705, section 3.
func TestBoundTokens(t *testing.T) {
	der := func(name string) []byte {
		block, _ := pem.Decode(certify(t, name, authtest.P256()))
		return block.Bytes
	}
	own, others := der("client.example"), der("thief.example")
	digest := sha256.Sum256(own)
	confirmed := map[string]any{"x5t#S256": base64.RawURLEncoding.EncodeToString(digest[:])}
	tests := []struct {
		name        string
		cnf         any
		certificate []byte
		required    bool
		want        Reason
	}{
		{"its own certificate", confirmed, own, false, ""},
		{"its own certificate, as required", confirmed, own, true, ""},
		{"another's certificate", confirmed, others, false, Bound},
		{"no certificate", confirmed, nil, false, Bound},
		{"bound to nothing", nil, own, false, ""},
		{"bound to nothing, against what is required", nil, own, true, Unbound},
		{"bound to a certificate and a key", map[string]any{"x5t#S256": confirmed["x5t#S256"], "jkt": "0"}, own, false, Bound},
		{"a thumbprint that is no text", map[string]any{"x5t#S256": 1}, own, false, Bound},
		{"an empty thumbprint", map[string]any{"x5t#S256": ""}, nil, false, Bound},
		{"a thumbprint with padding", map[string]any{"x5t#S256": base64.URLEncoding.EncodeToString(digest[:])}, own, false, Bound},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			inWorld(t, publish(authtest.KeySet()), func(w *world) {
				w.auth.config.Bound = tt.required
				token := authtest.New(issuerName).With(map[string]any{"cnf": tt.cnf}).Sign(t)
				for range 2 { // the second time the token is known
					_, err := w.auth.Authenticate(t.Context(), Credentials{Authorization: []string{"Bearer " + token}, Certificate: tt.certificate})
					if got := reasonOf(err); got != tt.want {
						t.Errorf("refused for %q, want %q", got, tt.want)
					}
				}
			})
		})
	}
}
