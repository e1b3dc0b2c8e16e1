package main

import (
	"net/http"
	"strings"
	"testing"

	"evenreach.example/internal/auth/authtest"
)

// Source: full(4): every write to /dev/full fails with ENOSPC.
func TestServeRefusesWhatItCannotAudit(t *testing.T) {
	p := begin(t, append(tokenFlags(t), "--audit-log=/dev/full", "--audit-patient=none", "--audit-required", "--drain-delay=0s")...)
	p.serves()
	if got, body := askTenant(t, p, authtest.New(issuerName).Sign(t)); got != http.StatusServiceUnavailable {
		t.Errorf("status %d, want 503: %.200s", got, body)
	}
	if _, metrics := p.get("/metrics"); !strings.Contains(metrics, `evenreach_audit_events_total{result="lost"} 1`) {
		t.Error("/metrics does not count the lost event")
	}
	p.terminate()
	<-p.exit
}
