package config

import (
	"testing"
)

func TestV2(t *testing.T) {
	tests := []struct {
		name   string
		change func(*Serve)
		want   string // of the error, empty for none
	}{
		{"as it is by default", func(*Serve) {}, ""},
		{"a record on this machine", func(s *Serve) { s.V2Target = "http://127.0.0.1:9000/fhir" }, ""},
		{"a receiver with TLS", func(s *Serve) { s.V2Target = "mllps://engine.example:2575" }, ""},
		{"a receiver elsewhere without TLS", func(s *Serve) { s.V2Target = "mllp://engine.example:2575" }, "v2-target"},
		{"a record elsewhere without TLS", func(s *Serve) { s.V2Target = "http://record.example/fhir" }, "v2-target"},
		{"a password in the address", func(s *Serve) { s.V2Target = "https://a:b@record.example/fhir" }, "v2-target"},
		{"MLLP without a target", func(s *Serve) { s.MLLPListen = "127.0.0.1:2575" }, "mllp-listen"},
		{"MLLP", func(s *Serve) { s.MLLPListen, s.V2Target = "127.0.0.1:2575", "http://127.0.0.1:9000" }, ""},
		{"MLLP for everybody", func(s *Serve) { s.MLLPListen, s.V2Target = ":2575", "http://127.0.0.1:9000" }, "mllp-listen"},
		{"MLLP at a port that is taken", func(s *Serve) { s.MLLPListen, s.V2Target = "127.0.0.1:8080", "http://127.0.0.1:9000" }, "mllp-listen"},
		{"MLLP and no version 2", func(s *Serve) {
			s.MLLPListen, s.V2Target, s.V2Off = "127.0.0.1:2575", "http://127.0.0.1:9000", "true"
		}, "mllp-listen"},
		{"systems and a zone", func(s *Serve) {
			s.V2Systems, s.V2TimeZone = "99CLN=https://clinic.example/codes, LAB=urn:oid:1.2", "Europe/Berlin"
		}, ""},
		{"a system without address", func(s *Serve) { s.V2Systems = "99CLN" }, "v2-systems"},
		{"an unknown zone", func(s *Serve) { s.V2TimeZone = "Europe/Nowhere" }, "v2-time-zone"},
		{"the zone of the machine", func(s *Serve) { s.V2TimeZone = "Local" }, "v2-time-zone"},
		{"an unknown form", func(s *Serve) { s.V2Report = "html" }, "v2-report"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			resolves(t, tt.change, tt.want)
		})
	}
}
