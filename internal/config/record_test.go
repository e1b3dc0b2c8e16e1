package config

import (
	"os"
	"path/filepath"
	"testing"

	"evenreach.example/internal/fhirclient/recordtest"
)

func TestRecord(t *testing.T) {
	key := recordtest.NewTokens(t).KeyFile
	file := func(text string) string {
		path := filepath.Join(t.TempDir(), "file")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	secret := file("0123456789abcdef0123456789abcdef\n")
	client := func(s *Serve) {
		s.RecordBase, s.RecordClient, s.RecordTokenURL, s.RecordKey = "https://record.example/fhir", "id", "https://record.example/token", key
	}
	with := func(more func(*Serve)) func(*Serve) {
		return func(s *Serve) { client(s); more(s) }
	}
	tests := []struct {
		name   string
		change func(*Serve)
		want   string // of the error, empty for none
	}{
		{"a record on this machine", func(s *Serve) { s.RecordBase = "http://127.0.0.1:9000/fhir" }, ""},
		{"a client", client, ""},
		{"a token from elsewhere", func(s *Serve) { s.RecordBase, s.RecordToken = "https://record.example/fhir", secret }, ""},
		{"notifications", with(func(s *Serve) { s.NotificationSecrets, s.QueueFolder = secret, "/var/queue" }), ""},
		{"without TLS", func(s *Serve) { s.RecordBase = "http://record.example/fhir" }, "record-base"},
		{"a query in the base", with(func(s *Serve) { s.RecordBase = "https://record.example/fhir?x=1" }), "record-base"},
		{"nothing to prove who we are by", func(s *Serve) { s.RecordBase = "https://record.example/fhir" }, "record-client"},
		{"both ways", with(func(s *Serve) { s.RecordToken = secret }), "record-token"},
		{"a token server without TLS", with(func(s *Serve) { s.RecordTokenURL = "http://record.example/token" }), "record-token-url"},
		{"no token server", with(func(s *Serve) { s.RecordTokenURL = "" }), "record-token-url"},
		{"no key", with(func(s *Serve) { s.RecordKey = secret }), "record-key"},
		{"no scopes", with(func(s *Serve) { s.RecordScopes = " " }), "record-scopes"},
		{"a short secret", with(func(s *Serve) { s.NotificationSecrets = file("short") }), "notification-secrets"},
		{"no such secrets", with(func(s *Serve) { s.NotificationSecrets = "/nowhere" }), "notification-secrets"},
		{"a quiet time that is none", with(func(s *Serve) { s.NotificationQuiet = "soon" }), "notification-quiet"},
		{"a client without a record", func(s *Serve) { s.RecordClient = "id" }, "record-client"},
		{"a queue without a record", func(s *Serve) { s.QueueFolder = "/var/queue" }, "queue-folder"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			resolves(t, tt.change, tt.want)
		})
	}
}

// Notifications are taken from everybody only where everybody is let in.
func TestNotificationsNeedSecrets(t *testing.T) {
	s := parse(t, nil)
	s.RecordBase = "http://127.0.0.1:9000/fhir"
	s.InsecureNoAuth, s.Issuers = "", "https://id.example=https://id.example/keys"
	s.Audience = "https://evenreach.example/fhir"
	c, err := s.Resolve()
	if err != nil {
		t.Fatal(err)
	}
	if c.Record.Queue != nil {
		t.Error("notifications are taken from everybody")
	}
}
