//go:build record

package conformance

import (
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/fhirclient/recordtest"
)

// The record's own module of subscriptions, that of HAPI FHIR, notifies of measurements as they are stored: one after the
// other, and many by one transaction. One assessment follows, and is written back; the notifications of what was written
// lead to none.
func TestSubscriptionOfTheRecord(t *testing.T) {
	record := recordServer(t)
	g := guard(t, record)
	evenreach := served(t, "--record-base", g.base, "--record-client", recordtest.ClientID, "--record-token-url", g.tokens.URL, "--record-key", g.tokens.KeyFile, "--notification-quiet=5s")
	subscription := record.done("POST", "Subscription", resource{
		"resourceType": "Subscription", "status": "requested", "reason": "measurements of shoulders", "criteria": "Observation?",
		"channel": resource{"type": "rest-hook", "endpoint": strings.TrimSuffix(evenreach.FHIR, "/fhir") + "/notifications", "payload": "application/fhir+json"},
	})
	address := addressOf(subscription)
	until(t, "the subscription is active", func() bool { return record.done("GET", address, nil)["status"] == "active" })
	fill(t, record)
	until(t, "an assessment is written", func() bool { return record.count("DiagnosticReport") > 0 })
	time.Sleep(15 * time.Second) // three quiet times, for one too many
	if n := g.transactions.Load(); n != 1 {
		t.Errorf("%d transactions followed, want one", n)
	}
	for kind, want := range map[string]float64{"CarePlan": 1, "DiagnosticReport": 1} {
		if n := record.count(kind); n != want {
			t.Errorf("the record has %v of %s, want %v", n, kind, want)
		}
	}
}

// until waits for something, for at most three minutes: so long that no machine is too slow.
func until(t *testing.T, what string, is func() bool) {
	t.Helper()
	for end := time.Now().Add(3 * time.Minute); !is(); time.Sleep(200 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("waited in vain: %s", what)
		}
	}
}
