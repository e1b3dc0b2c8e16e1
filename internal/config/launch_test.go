package config

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestLaunch(t *testing.T) {
	client := func(s *Serve) { s.LaunchClient, s.LaunchIssuers = "worksheet", "https://record.example/fhir" }
	with := func(more func(*Serve)) func(*Serve) {
		return func(s *Serve) { client(s); more(s) }
	}
	tests := []struct {
		name   string
		change func(*Serve)
		want   string // of the error, empty for none
	}{
		{"a record", client, ""},
		{"a record on this machine", with(func(s *Serve) { s.LaunchIssuers = "http://127.0.0.1:9000/fhir" }), ""},
		{"its authorization server", with(func(s *Serve) { s.LaunchOrigins = "https://id.example:8443" }), ""},
		{"no record", with(func(s *Serve) { s.LaunchIssuers = "" }), "launch-issuers"},
		{"a record without TLS", with(func(s *Serve) { s.LaunchIssuers = "http://record.example/fhir" }), "launch-issuers"},
		{"a record with a query", with(func(s *Serve) { s.LaunchIssuers = "https://record.example/fhir?x" }), "launch-issuers"},
		{"a name that would end the policy", with(func(s *Serve) { s.LaunchIssuers = "https://record.example;script-src/fhir" }), "launch-issuers"},
		{"any record", with(func(s *Serve) { s.LaunchIssuers = "https://*.example/fhir" }), "launch-issuers"},
		{"an address in place of an origin", with(func(s *Serve) { s.LaunchOrigins = "https://id.example/" }), "launch-origins"},
		{"an origin without TLS", with(func(s *Serve) { s.LaunchOrigins = "http://id.example" }), "launch-origins"},
		{"no scopes", with(func(s *Serve) { s.LaunchScopes = " " }), "launch-scopes"},
		{"a scope that is none", with(func(s *Serve) { s.LaunchScopes = `patient/*.rs "all"` }), "launch-scopes"},
		{"access after the page is closed", with(func(s *Serve) { s.LaunchScopes = "patient/*.rs offline_access" }), "launch-scopes"},
		{"a scope that the page adds", with(func(s *Serve) { s.LaunchScopes = "launch/patient patient/*.rs" }), "launch-scopes"},
		{"records without a client", func(s *Serve) { s.LaunchIssuers = "https://record.example/fhir" }, "launch-issuers"},
		{"origins without a client", func(s *Serve) { s.LaunchOrigins = "https://id.example" }, "launch-origins"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			resolves(t, tt.change, tt.want)
		})
	}
}

// Every problem is told at once.
func TestLaunchTellsAllProblems(t *testing.T) {
	s := parse(t, nil)
	s.LaunchClient, s.LaunchIssuers, s.LaunchOrigins, s.LaunchScopes = "worksheet", "ftp://record.example", "id.example", "offline_access"
	_, err := s.Resolve()
	for _, want := range []string{"launch-issuers", "launch-origins", "launch-scopes"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want one about %s", err, want)
		}
	}
}

func TestLaunchOrigins(t *testing.T) {
	s := parse(t, nil)
	if server, err := s.Resolve(); err != nil || server.Launch != nil {
		t.Errorf("found %v, %v; want no launch unless it is configured", server, err)
	}
	s.LaunchClient, s.LaunchIssuers, s.LaunchOrigins = "worksheet", "https://b.example/fhir,https://b.example/other", "https://a.example"
	server, err := s.Resolve()
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"https://a.example", "https://b.example"}, server.Launch.Origins); diff != "" {
		t.Errorf("origins (-want +got):\n%s", diff)
	}
}
