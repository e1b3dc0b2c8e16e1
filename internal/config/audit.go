package config

import (
	"io"
	"os"
	"slices"

	"evenreach.example/internal/audit"
)

// Audit is the configuration of the audit trail as it was written.
type Audit struct {
	AuditLog      string `name:"audit-log" env:"EVENREACH_AUDIT_LOG" placeholder:"FILE" help:"Where an AuditEvent is written for each assessment, one a line: a file, which is appended to, or stdout (nowhere)."`
	AuditPatient  string `name:"audit-patient" env:"EVENREACH_AUDIT_PATIENT" default:"pseudonym" placeholder:"WAY" help:"How it names patients: pseudonym is a digest with the key of --audit-key; reference is what the record calls them; or none (${default})."`
	AuditKey      string `name:"audit-key" env:"EVENREACH_AUDIT_KEY" placeholder:"FILE" help:"The key of the pseudonyms, of 32 bytes at least, the same for all replicas."`
	AuditRequired string `name:"audit-required" alone:"true" env:"EVENREACH_AUDIT_REQUIRED" help:"Refuse assessments whose event cannot be written."`
}

// minKey is the least length of a key of pseudonyms, in bytes.
//
// Source: RFC 2104, section 3: a key of HMAC should have the length of the digest at least.
const minKey = 32

// resolve says where the trail is written; nil for nowhere.
func (a Audit) resolve(r *resolver) *audit.Config {
	required := r.boolean("audit-required", a.AuditRequired)
	if a.AuditLog == "" {
		if required {
			r.report("audit-required", "found no --audit-log; expected one")
		}
		return nil
	}
	c := &audit.Config{Patients: audit.Naming(a.AuditPatient), Required: required, To: r.appended("audit-log", a.AuditLog)}
	if !slices.Contains(audit.Namings, c.Patients) {
		r.report("audit-patient", "found %q; expected pseudonym, reference or none", a.AuditPatient)
	}
	if c.Patients == audit.Pseudonym {
		c.Key = r.key("audit-key", a.AuditKey)
	}
	return c
}

// appended opens a file to append to, or standard output.
func (r *resolver) appended(option, name string) io.Writer {
	if name == "stdout" {
		return os.Stdout
	}
	file, err := os.OpenFile(name, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		r.report(option, "%v", err)
		return nil
	}
	return file
}

// key reads a secret.
func (r *resolver) key(option, name string) []byte {
	if name == "" {
		r.report(option, "found none; expected a file with a key, without which whoever knows a patient could tell its pseudonym")
		return nil
	}
	key, err := readFile(name)
	switch {
	case err != nil:
		r.report(option, "%v", err)
	case len(key) < minKey:
		r.report(option, "%s: found %d bytes; expected %d at least", name, len(key), minKey)
	}
	return key
}
