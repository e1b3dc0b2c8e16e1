package auth

import (
	"crypto/sha256"
	"crypto/subtle"
	"os"
	"strings"

	"evenreach.example/internal/ops"
)

// A SecretsFile is a file with secrets, one a line, each of which lets in who sends it as bearer token. Two lines let a
// secret be replaced without a gap. The file is read for each caller. It is for senders of notifications, which can put
// a fixed header and nothing else into what they send (FHIR R4, Subscription.channel.header).
type SecretsFile struct {
	Path    string
	Metrics *ops.AuthMetrics
}

// MinSecret is the least length of a secret, in characters.
//
// Source: common practice: 32 characters of Base64 have 192 bits.
const MinSecret = 32

// Admit identifies a caller from the values of the header Authorization. The error is a *Refusal.
func (s SecretsFile) Admit(authorization []string) error {
	reason := s.reason(authorization)
	if reason == "" {
		return nil
	}
	s.Metrics.Refused(string(reason))
	return refuse(reason)
}

func (s SecretsFile) reason(authorization []string) Reason {
	sent, ok := bearer(authorization)
	if !ok {
		return NoToken
	}
	known, err := ReadSecrets(s.Path)
	if err != nil {
		return KeysNotThere
	}
	digest, found := sha256.Sum256([]byte(sent)), 0
	for _, secret := range known {
		other := sha256.Sum256([]byte(secret))
		found |= subtle.ConstantTimeCompare(digest[:], other[:])
	}
	if found == 0 {
		return UnknownSecret
	}
	return ""
}

// ReadSecrets reads the secrets of a file, those that are too short left out.
func ReadSecrets(path string) (secrets []string, err error) {
	text, err := os.ReadFile(path)
	for line := range strings.Lines(string(text)) {
		if secret := strings.TrimSpace(line); len(secret) >= MinSecret {
			secrets = append(secrets, secret)
		}
	}
	return secrets, err
}
