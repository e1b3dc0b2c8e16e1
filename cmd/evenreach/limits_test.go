package main

import (
	"bytes"
	"crypto/rand"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenreach.example/internal/auth/authtest"
)

// The flags of shares and of the audit trail reach what they are about.
func TestServeKeepsSharesAndATrail(t *testing.T) {
	folder := t.TempDir()
	key, trail := filepath.Join(folder, "key"), filepath.Join(folder, "trail")
	secret := make([]byte, 32)
	_, _ = rand.Read(secret) // never fails
	if err := os.WriteFile(key, secret, 0o600); err != nil {
		t.Fatal(err)
	}
	p := begin(t, append(tokenFlags(t), "--client-rate=0.001", "--client-burst=1", "--audit-log="+trail, "--audit-key="+key, "--audit-required", "--drain-delay=0s")...)
	p.serves()
	token := authtest.New(issuerName).Sign(t)
	for _, want := range []int{http.StatusOK, http.StatusTooManyRequests} {
		if got, body := askTenant(t, p, token); got != want {
			t.Errorf("status %d, want %d: %.200s", got, want, body)
		}
	}
	written, err := os.ReadFile(trail)
	if err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(written, []byte(`"outcome":"0"`)); n != 1 || !bytes.Contains(written, []byte(authtest.ClientID)) || bytes.Contains(written, []byte("demo-")) {
		t.Errorf("the trail has %d assessments, want one, with its client and without the patient: %.600s", n, written)
	}
	_, metrics := p.get("/metrics")
	for _, want := range []string{`limit="rate",tenant=""} 1`, `evenreach_audit_events_total{result="written"} 1`, `evenreach_audit_events_total{result="lost"} 0`} {
		if !strings.Contains(metrics, want) {
			t.Errorf("/metrics does not say %s", want)
		}
	}
	p.terminate()
	<-p.exit
}
