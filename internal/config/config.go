// Package config checks the configuration that an operator sets, and reports every
// problem at once, so that one correction of a deployment is enough.
package config

import (
	"errors"
	"fmt"
	"log/slog"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"evenreach.example/internal/audit"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/flags"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/service"
	"evenreach.example/internal/wording"
	"evenreach.example/internal/worksheet"
)

// Serve is the configuration of the server as it was written, in flags or in
// environment variables; its tags are those of package flags. Every field is
// text, so that a bad value is found by Resolve together with all the others.
// The addresses are of the loopback interface unless stated, so that the service is
// not reachable by accident.
type Serve struct {
	GRPCAddress      string `name:"grpc-address" env:"EVENREACH_GRPC_ADDRESS" default:"127.0.0.1:9090" placeholder:"HOST:PORT" help:"Where gRPC listens (${default})."`
	HTTPAddress      string `name:"http-address" env:"EVENREACH_HTTP_ADDRESS" default:"127.0.0.1:8080" placeholder:"HOST:PORT" help:"Where REST listens (${default})."`
	AdminAddress     string `name:"admin-address" env:"EVENREACH_ADMIN_ADDRESS" default:"127.0.0.1:9464" placeholder:"HOST:PORT" help:"Where /metrics, /livez and /readyz listen (${default})."`
	Protocol         string `name:"protocol" env:"EVENREACH_PROTOCOL" placeholder:"FILE" help:"The clinic's own protocol, which becomes the default one (none: the built-in protocol)."`
	CodeMap          string `name:"code-map" env:"EVENREACH_CODE_MAP" placeholder:"FILE" help:"A FHIR R4 ConceptMap of the site's own codes (none)."`
	Tenants          string `name:"tenants" env:"EVENREACH_TENANTS" placeholder:"FILE" help:"The clinics that this process serves apart from each other, and whose the callers are (none: all callers get the same answers)."`
	Language         string `name:"language" env:"EVENREACH_LANGUAGE" default:"en" placeholder:"TAG" help:"Language of the texts where a caller prefers none, en, de or fr (${default})."`
	Force            string `name:"force" env:"EVENREACH_FORCE" default:"N" placeholder:"UNIT" help:"Unit in which texts show a force where a caller names none: N, kgf or lbf (${default})."`
	DrainTimeout     string `name:"drain-timeout" env:"EVENREACH_DRAIN_TIMEOUT" default:"20s" placeholder:"DURATION" help:"Longest time from the signal to stop until the end (${default})."`
	DrainDelay       string `name:"drain-delay" env:"EVENREACH_DRAIN_DELAY" default:"3s" placeholder:"DURATION" help:"Time within it to go on serving, until no caller is sent here any more (${default})."`
	MaxConcurrent    string `name:"max-concurrent" env:"EVENREACH_MAX_CONCURRENT" default:"128" placeholder:"N" help:"Requests answered at a time; more are told to come back (${default})."`
	MaxConnections   string `name:"max-connections" env:"EVENREACH_MAX_CONNECTIONS" default:"1000" placeholder:"N" help:"Connections open at a time, by gRPC and by REST each; more are closed at once (${default})."`
	MaxConnectionAge string `name:"max-connection-age" env:"EVENREACH_MAX_CONNECTION_AGE" default:"10m" placeholder:"DURATION" help:"When a connection is given up, give or take a tenth, so that new replicas get callers; 0 for never (${default})."`
	Reflection       string `name:"grpc-reflection" alone:"true" env:"EVENREACH_GRPC_REFLECTION" help:"Let callers ask by gRPC which services and messages there are, with the same token as for everything else."`
	Operations       string `name:"operations" env:"EVENREACH_OPERATIONS" default:"process-message,apply,extract,validate,batch" placeholder:"NAME,..." help:"The operations of FHIR that are offered besides the assessment; none for none (${default})."`
	LogPeer          string `name:"log-peer" env:"EVENREACH_LOG_PEER" default:"refused" placeholder:"WAY" help:"How the log names the address of a caller: refused shows that of callers who are not let in and a pseudonym of others; address, pseudonym or none (${default})."`
	LogLevel         string `name:"log-level" env:"EVENREACH_LOG_LEVEL" default:"info" placeholder:"LEVEL" help:"debug, info, warn or error (${default})."`

	Auth
	Fairness
	Audit
	TLS
	Traces
	V2
	Hooks
	Record
	Launch
}

// Server is a checked configuration.
type Server struct {
	GRPCAddress  string // host:port
	HTTPAddress  string
	AdminAddress string
	// Content is what requests are answered by.
	service.Content
	// DrainTimeout is the longest time from the signal to stop until the end;
	// DrainDelay is the shorter time within it in which requests are accepted.
	DrainTimeout  time.Duration
	DrainDelay    time.Duration
	MaxConcurrent int // at least 1
	// MaxConnections is how many connections gRPC and REST each have at a time, at
	// least 1; MaxConnectionAge is when one is given up, 0 for never.
	MaxConnections   int
	MaxConnectionAge time.Duration
	// Reflection lets callers ask by gRPC which services and messages there are.
	Reflection bool
	// Operations are the names of those that are offered; empty and not nil for none.
	Operations []string
	// Words are the texts where a caller prefers no other.
	Words    *wording.Catalogue
	LogLevel slog.Level
	LogPeer  ops.PeerLog
	// Tokens says which callers are let in; nil for everybody.
	Tokens *auth.Config
	// TokenEndpoint is where clients of SMART get their tokens; empty if it is not stated.
	TokenEndpoint string
	// Fairness is what one client may take.
	Fairness service.Fairness
	// Reload reads the content again. The error lists every problem, one a line.
	Reload func() (service.Content, error)
	// Reloaded are the files that Reload would read now.
	Reloaded func() []string
	// Audit says where the audit trail is written; nil for nowhere.
	Audit *audit.Config
	// Authorities are those of files that vouch for servers that are asked, by the option that names the file, to
	// tell the log and the metrics of their replacement.
	Authorities map[string]*auth.Authorities
	// Certificates are served by gRPC and REST; nil for no TLS.
	Certificates *auth.Certificates
	// Traces says where traces are sent; nil for nowhere.
	Traces *ops.TraceConfig
	// V2 says how messages of HL7 version 2 are answered; nil for not at all.
	V2 *service.V2
	// MLLPAddress is where they are taken over MLLP; empty for nowhere.
	MLLPAddress string
	// Hooks says how CDS Hooks are answered; nil for not at all.
	Hooks *HookConfig
	// Record is the record that is asked and written; nil for none.
	Record *RecordConfig
	// Launch says which records may launch the worksheet; nil for none.
	Launch *worksheet.Launch
}

// Resolve checks the configuration. The error lists every problem, one a line.
func (s Serve) Resolve() (*Server, error) {
	var r resolver
	reached := map[string]string{"grpc-address": s.GRPCAddress, "http-address": s.HTTPAddress}
	server := &Server{
		GRPCAddress:      r.address("grpc-address", s.GRPCAddress),
		HTTPAddress:      r.address("http-address", s.HTTPAddress),
		AdminAddress:     r.address("admin-address", s.AdminAddress),
		Words:            r.words(s.Language, s.Force),
		DrainTimeout:     r.duration("drain-timeout", s.DrainTimeout),
		DrainDelay:       r.duration("drain-delay", s.DrainDelay),
		MaxConcurrent:    r.count("max-concurrent", s.MaxConcurrent),
		MaxConnections:   r.count("max-connections", s.MaxConnections),
		MaxConnectionAge: r.duration("max-connection-age", s.MaxConnectionAge),
		Reflection:       r.boolean("grpc-reflection", s.Reflection),
		Operations:       r.operations(s.Operations),
		LogLevel:         r.level("log-level", s.LogLevel),
		LogPeer:          r.peerLog("log-peer", s.LogPeer),
		Tokens:           s.Auth.resolve(&r, reached),
		TokenEndpoint:    s.tokenEndpoint(&r),
		Fairness:         s.Fairness.resolve(&r),
		Audit:            s.Audit.resolve(&r),
		Certificates:     s.TLS.resolve(&r, reached),
		Traces:           s.Traces.resolve(&r),
		V2:               s.resolveV2(&r),
		MLLPAddress:      s.mllpAddress(&r),
		Hooks:            s.resolveHooks(&r),
		Record:           s.resolveRecord(&r),
		Launch:           s.Launch.resolve(&r),
	}
	server.Content = s.content(&r, server.Words)
	server.Authorities = r.vouching
	server.Reload, server.Reloaded = s.reload, s.contentFiles
	if server.V2 != nil {
		server.V2.Options.Codes = server.Codes
	}
	r.knownVariables(os.Environ())
	r.enoughFiles(server)
	if server.Tokens != nil && server.Tokens.Bound && s.ClientCA == "" {
		r.report("auth-bound-tokens", "found no --tls-client-ca; expected one, because only callers with a certificate can have such tokens")
	}
	r.distinct("grpc-address", server.GRPCAddress, "http-address", server.HTTPAddress)
	r.distinct("grpc-address", server.GRPCAddress, "admin-address", server.AdminAddress)
	r.distinct("http-address", server.HTTPAddress, "admin-address", server.AdminAddress)
	if len(r.problems) == 0 && server.DrainDelay >= server.DrainTimeout {
		r.report("drain-delay", "found %v; expected less than the drain-timeout of %v", server.DrainDelay, server.DrainTimeout)
	}
	if err := errors.Join(r.problems...); err != nil {
		return nil, err
	}
	return server, nil
}

// reload reads the content again.
func (s Serve) reload() (service.Content, error) {
	var r resolver
	c := s.content(&r, r.words(s.Language, s.Force))
	return c, errors.Join(r.problems...)
}

// ownPrefix begins the names of the program's own variables.
const ownPrefix = "EVENREACH_"

// serviceLinks are the variables that Kubernetes sets for a Service called evenreach or
// evenreach-admin, unless the Pod says that it wants none.
var serviceLinks = regexp.MustCompile(`^EVENREACH_(ADMIN_)?(SERVICE|PORT)(_|$)`)

// knownVariables refuses an environment variable of ours that means nothing: misspelt,
// it would leave a setting at its default, such as the list of clients at everybody.
func (r *resolver) knownVariables(environment []string) {
	var known []string
	for _, f := range flags.Of(new(Serve)).Flags {
		known = append(known, f.Variables...)
	}
	for _, pair := range slices.Sorted(slices.Values(environment)) {
		name, _, _ := strings.Cut(pair, "=")
		if strings.HasPrefix(name, ownPrefix) && !slices.Contains(known, name) && !serviceLinks.MatchString(name) {
			r.reportOn(name, "there is no such variable%s", flags.Suggest(name, known))
		}
	}
}

// resolver collects what is wrong while values are read.
type resolver struct {
	problems []error
	vouching map[string]*auth.Authorities // that were read of files, by option
}

// report adds a problem with an option, named as flag and as variables.
func (r *resolver) report(option, format string, args ...any) {
	r.reportOn(fmt.Sprintf("--%s (%s)", option, variables(option)), format, args...)
}

// reportOn adds a problem with what has this name.
func (r *resolver) reportOn(name, format string, args ...any) {
	r.problems = append(r.problems, fmt.Errorf("%s: %s", name, fmt.Sprintf(format, args...)))
}

// variables are the environment variables of an option.
func variables(option string) string {
	return strings.Join(flags.Of(new(Serve)).Flag(option).Variables, ", ")
}

// boolean reads a value that is false if it is not set.
func (r *resolver) boolean(option, text string) bool {
	if text == "" {
		return false
	}
	is, err := flags.Truth(text)
	if err != nil {
		r.report(option, "found %q; expected %v", text, err)
	}
	return is
}

func (r *resolver) duration(option, text string) time.Duration {
	d, err := time.ParseDuration(text)
	if err != nil || d < 0 {
		r.report(option, "found %q; expected a duration such as 20s", text)
	}
	return d
}

func (r *resolver) count(option, text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		r.report(option, "found %q; expected a whole number of at least 1", text)
	}
	return n
}

func (r *resolver) level(option, text string) (level slog.Level) {
	switch text {
	case "debug", "info", "warn", "error":
		if err := level.UnmarshalText([]byte(text)); err != nil {
			r.report(option, "%v", err)
		}
	default:
		r.report(option, "found %q; expected debug, info, warn or error", text)
	}
	return level
}

// operations reads the operations that are offered; the word none stands for none.
func (r *resolver) operations(text string) []string {
	names := list(text)
	if text == "none" {
		return []string{}
	}
	for _, name := range names {
		if !slices.Contains(service.OperationNames, name) {
			r.report("operations", "found %q; expected some of %s, or none", name, strings.Join(service.OperationNames, ", "))
		}
	}
	if len(names) == 0 {
		r.report("operations", "found nothing; expected some of %s, or none", strings.Join(service.OperationNames, ", "))
	}
	return names
}

func (r *resolver) peerLog(option, text string) ops.PeerLog {
	way := ops.PeerLog(text)
	if !slices.Contains(ops.PeerLogs, way) {
		r.report(option, "found %q; expected refused, address, pseudonym or none", text)
	}
	return way
}

func (r *resolver) protocols(file string) []*protocol.Protocol {
	protocols, err := Protocols(file)
	r.reportLines("protocol", err)
	return protocols
}

func (r *resolver) codes(file string) *intake.CodeMap {
	codes, err := ReadCodeMap(file)
	r.reportLines("code-map", err)
	return codes
}

func (r *resolver) words(language, force string) *wording.Catalogue {
	if !wording.Has(language) {
		r.report("language", "found %q; expected %s", language, strings.Join(wording.Languages(), ", "))
	}
	var unit wording.ForceUnit
	if err := unit.UnmarshalText([]byte(force)); err != nil {
		r.report("force", "found %q; expected %s", force, strings.Join(wording.ForceUnits(), ", "))
	}
	return wording.For(language).InForce(unit)
}

// reportLines adds each line of an error as a problem.
func (r *resolver) reportLines(option string, err error) {
	if err == nil {
		return
	}
	for line := range strings.Lines(err.Error()) {
		r.report(option, "%s", strings.TrimSpace(line))
	}
}
