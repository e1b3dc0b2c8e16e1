package config

import (
	"net/url"
	"regexp"
	"slices"
	"strings"

	"evenreach.example/internal/worksheet"
)

// Launch is the configuration of SMART App Launch as it was written. Lists are separated by commas.
type Launch struct {
	LaunchClient  string `name:"launch-client" env:"EVENREACH_LAUNCH_CLIENT" placeholder:"ID" help:"The id by which health records know the worksheet, a public client that they launch by SMART App Launch; needs --launch-issuers (none: nothing launches it)."`
	LaunchIssuers string `name:"launch-issuers" env:"EVENREACH_LAUNCH_ISSUERS" placeholder:"URL,..." help:"The base addresses of the FHIR records that may launch the worksheet; no other one is asked for anything (none)."`
	LaunchOrigins string `name:"launch-origins" env:"EVENREACH_LAUNCH_ORIGINS" placeholder:"ORIGIN,..." help:"The origins of their authorization servers, where those are not the records' own (none)."`
	LaunchScopes  string `name:"launch-scopes" env:"EVENREACH_LAUNCH_SCOPES" default:"openid fhirUser online_access patient/Patient.rs patient/Encounter.rs patient/Condition.crus patient/Procedure.crus patient/Observation.crus patient/DiagnosticReport.crus patient/DetectedIssue.crus patient/CarePlan.crus patient/Goal.crus patient/Provenance.crus user/Device.crus user/Practitioner.crus" placeholder:"SCOPES" help:"The scopes that are asked for beside that of the launch, separated by spaces."`
}

var (
	// origin is an origin that can stand in a Content-Security-Policy.
	//
	// Source: W3C, Content Security Policy Level 3, host-source: names and IPv4 addresses.
	origin = regexp.MustCompile(`^https?://[A-Za-z0-9.-]+(:[0-9]+)?$`)
	// scopeToken is one scope.
	//
	// Source: RFC 6749, section 3.3.
	scopeToken = regexp.MustCompile(`^[\x21\x23-\x5B\x5D-\x7E]+$`)
)

// resolve reads the configuration of SMART App Launch; nil for none.
func (c Launch) resolve(r *resolver) *worksheet.Launch {
	issuers := list(c.LaunchIssuers)
	if c.LaunchClient == "" {
		for option, text := range map[string]string{"launch-issuers": c.LaunchIssuers, "launch-origins": c.LaunchOrigins} {
			if text != "" {
				r.report(option, "found it without --launch-client; expected both")
			}
		}
		return nil
	}
	if len(issuers) == 0 {
		r.report("launch-issuers", "found none; expected the base address of each record that may launch the worksheet")
	}
	l := &worksheet.Launch{Client: c.LaunchClient, Issuers: issuers, Scopes: r.launchScopes(c.LaunchScopes)}
	for _, issuer := range issuers {
		l.Origins = append(l.Origins, r.issuerOrigin(issuer))
	}
	for _, further := range list(c.LaunchOrigins) {
		if !isSafe(further) || !origin.MatchString(further) {
			r.report("launch-origins", "found %q; expected an origin such as https://id.hospital.example (http on the loopback interface only)", further)
		}
		l.Origins = append(l.Origins, further)
	}
	slices.Sort(l.Origins)
	l.Origins = slices.Compact(l.Origins)
	return l
}

// issuerOrigin is the origin of a record.
func (r *resolver) issuerOrigin(issuer string) string {
	u, err := url.Parse(issuer)
	if err != nil || !isSafe(issuer) || strings.ContainsAny(issuer, "?#") || !origin.MatchString(u.Scheme+"://"+u.Host) {
		r.report("launch-issuers", "found %q; expected the https address of a record (http on the loopback interface only)", issuer)
		return ""
	}
	return u.Scheme + "://" + u.Host
}

// launchScopes checks the scopes. What goes on after the reader has left is nothing for a page.
func (r *resolver) launchScopes(text string) string {
	scopes := strings.Fields(text)
	if len(scopes) == 0 {
		r.report("launch-scopes", "found none; expected some, separated by spaces")
	}
	for _, scope := range scopes {
		switch {
		case !scopeToken.MatchString(scope):
			r.report("launch-scopes", "found %q; expected a scope", scope)
		case scope == "offline_access":
			r.report("launch-scopes", "found offline_access; expected online_access or neither, because a page in a browser must not keep access after it is closed")
		case scope == "launch" || strings.HasPrefix(scope, "launch/"):
			r.report("launch-scopes", "found %s, which the page adds by itself; expected the others", scope)
		}
	}
	return strings.Join(scopes, " ")
}
