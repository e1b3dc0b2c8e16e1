package config

import (
	"net"
	"net/url"
	"strings"
	"time"
	_ "time/tzdata" // an image has no table of time zones

	"evenreach.example/internal/fhirclient"
	"evenreach.example/internal/handon"
	"evenreach.example/internal/oru"
	"evenreach.example/internal/service"
)

// V2 is the configuration of HL7 version 2 as it was written.
type V2 struct {
	V2Off         string `name:"no-v2" alone:"true" env:"EVENREACH_NO_V2" help:"Answer no messages of HL7 version 2."`
	V2Target      string `name:"v2-target" env:"EVENREACH_V2_TARGET" placeholder:"URL" help:"Where the answers to messages are handed on to before they are acknowledged: the base address of a FHIR record, or mllp://HOST:PORT or mllps://HOST:PORT (none: results go back to the sender)."`
	V2TargetToken string `name:"v2-target-token" env:"EVENREACH_V2_TARGET_TOKEN" placeholder:"FILE" help:"A file with the bearer token for the record; it is read for each answer (none)."`
	V2TargetCA    string `name:"v2-target-ca" env:"EVENREACH_V2_TARGET_CA" placeholder:"FILE" help:"The authorities, in PEM, that vouch for the target (those of the system)."`
	V2Report      string `name:"v2-report" env:"EVENREACH_V2_REPORT" default:"text" placeholder:"FORM" help:"The report in results: text or pdf (${default})."`
	V2Systems     string `name:"v2-systems" env:"EVENREACH_V2_SYSTEMS" placeholder:"NAME=URI,..." help:"The URIs of coding systems and assigning authorities by the names that messages have for them (none)."`
	V2TimeZone    string `name:"v2-time-zone" env:"EVENREACH_V2_TIME_ZONE" placeholder:"ZONE" help:"The zone of times without one, such as Europe/Berlin (none: only their day is read)."`
	MLLPListen    string `name:"mllp-listen" env:"EVENREACH_MLLP_LISTEN" placeholder:"HOST:PORT" help:"Where messages are taken over MLLP; needs --v2-target (nowhere)."`
}

// resolveV2 reads the configuration of HL7 version 2; nil for none.
func (s Serve) resolveV2(r *resolver) *service.V2 {
	if r.boolean("no-v2", s.V2Off) {
		if s.MLLPListen != "" {
			r.report("mllp-listen", "found an address beside --no-v2; expected one of the two")
		}
		return nil
	}
	v := &service.V2{Options: oru.Options{Systems: r.systems(s.V2Systems), Zone: r.zone(s.V2TimeZone)}, PDF: s.V2Report == "pdf"}
	if s.V2Report != "text" && s.V2Report != "pdf" {
		r.report("v2-report", "found %q; expected text or pdf", s.V2Report)
	}
	v.Target = s.target(r)
	return v
}

// mllpAddress reads where MLLP listens; empty for nowhere. MLLP has no tokens: who may send is decided by
// certificates, or by who reaches the loopback interface, where a proxy that asks for certificates may
// stand.
func (s Serve) mllpAddress(r *resolver) string {
	if s.MLLPListen == "" {
		return ""
	}
	address := r.address("mllp-listen", s.MLLPListen)
	if !isLoopback(address) && s.ClientCA == "" {
		r.report("mllp-listen", "found %q; expected an address of the loopback interface, or --tls-client-ca: without certificates everybody could send messages", s.MLLPListen)
	}
	if s.V2Target == "" {
		r.report("mllp-listen", "found no --v2-target; expected one, because a message is acknowledged when its answer was handed on")
	}
	for option, other := range map[string]string{"grpc-address": s.GRPCAddress, "http-address": s.HTTPAddress, "admin-address": s.AdminAddress} {
		r.distinct(option, other, "mllp-listen", address)
	}
	return address
}

// target reads where answers are handed on to; nil for nowhere.
func (v V2) target(r *resolver) handon.Target {
	if v.V2Target == "" {
		return nil
	}
	secure := r.authorities("v2-target-ca", v.V2TargetCA)
	u, err := url.Parse(v.V2Target)
	switch {
	case err != nil || u.Host == "" || u.User != nil || u.RawQuery != "":
	case u.Scheme == "mllps" && u.Port() != "":
		return handon.NewReceiver(u.Host, secure)
	case u.Scheme == "mllp" && u.Port() != "" && isLoopback(u.Host):
		return handon.NewReceiver(u.Host, new(net.Dialer))
	case isSafe(v.V2Target):
		return handon.NewRecord(fhirclient.New(v.V2Target, tokenFile(v.V2TargetToken), secure.Direct()))
	}
	r.report("v2-target", "found %q; expected an https address or mllps://HOST:PORT (http and mllp on the loopback interface only)", v.V2Target)
	return nil
}

// tokenFile gives the token in a file; nil for none.
func tokenFile(file string) fhirclient.Tokens {
	if file == "" {
		return nil
	}
	return fhirclient.TokenFile(file)
}

// systems reads NAME=URI pairs.
func (r *resolver) systems(text string) map[string]string {
	all := map[string]string{}
	for _, pair := range list(text) {
		name, uri, _ := strings.Cut(pair, "=")
		if u, err := url.Parse(uri); name == "" || err != nil || u.Scheme == "" {
			r.report("v2-systems", "found %q; expected NAME=URI, such as 99CLN=https://clinic.example/codes", pair)
		}
		all[name] = uri
	}
	return all
}

// zone reads a time zone by its name in the IANA database; nil for none.
func (r *resolver) zone(name string) *time.Location {
	if name == "" {
		return nil
	}
	zone, err := time.LoadLocation(name)
	if err != nil || name == "Local" {
		r.report("v2-time-zone", "found %q; expected a zone such as Europe/Berlin", name)
	}
	return zone
}
