package config

import (
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/flags"
	"evenreach.example/internal/protocol"
)

// tokens is a configuration of authentication that can be served.
var tokens = []string{
	"--auth-issuers=https://id.hospital.example=https://id.hospital.example/keys",
	"--auth-audience=https://evenreach.hospital.example/fhir",
}

// parse reads flags and environment as the program does, with authentication.
func parse(t *testing.T, env map[string]string, args ...string) Serve {
	t.Helper()
	for name, value := range env {
		t.Setenv(name, value)
	}
	var s Serve
	if err := flags.Of(&s).Parse(append(slices.Clone(tokens), args...)); err != nil {
		t.Fatal(err)
	}
	return s
}

// write puts a file into a temporary folder and returns its path.
func write(t *testing.T, text string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "protocol.yaml")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

const ownProtocol = `
id: harbour-clinic
version: "2"
symmetry:
  even: {comparison: ">=", value: 95, unit: "%", source: "invented for this test"}
`

func TestDefaultsServeOnLoopbackOnly(t *testing.T) {
	server, err := parse(t, nil).Resolve()
	if err != nil {
		t.Fatal(err)
	}
	for name, address := range map[string]string{"gRPC": server.GRPCAddress, "HTTP": server.HTTPAddress, "admin": server.AdminAddress} {
		if !strings.HasPrefix(address, "127.0.0.1:") {
			t.Errorf("%s listens on %s, want the loopback interface", name, address)
		}
	}
	if server.DrainTimeout != 20*time.Second || server.LogLevel != slog.LevelInfo {
		t.Errorf("drain timeout %v, level %v, want 20s and INFO as deploy/README.md says", server.DrainTimeout, server.LogLevel)
	}
	if server.Reflection {
		t.Error("callers may ask by gRPC which services there are, want that off unless it is set")
	}
	if len(server.Protocols) != 1 || server.Protocols[0] != protocol.Default() {
		t.Errorf("protocols %v, want the built-in one alone", server.Protocols)
	}
}

func TestEnvironmentAndFlags(t *testing.T) {
	env := map[string]string{
		"EVENREACH_GRPC_ADDRESS":    ":9090",
		"EVENREACH_HTTP_ADDRESS":    ":8080",
		"EVENREACH_ADMIN_ADDRESS":   ":9464",
		"EVENREACH_DRAIN_TIMEOUT":   "30s",
		"EVENREACH_DRAIN_DELAY":     "1s",
		"EVENREACH_MAX_CONCURRENT":  "7",
		"EVENREACH_LOG_LEVEL":       "debug",
		"EVENREACH_GRPC_REFLECTION": "true",
		"EVENREACH_PROTOCOL":        write(t, ownProtocol),
		"EVENREACH_INSECURE_NO_TLS": "true",
	}
	server, err := parse(t, env, "--http-address=127.0.0.1:18080").Resolve()
	if err != nil {
		t.Fatal(err)
	}
	if server.GRPCAddress != ":9090" || server.AdminAddress != ":9464" {
		t.Errorf("addresses %s and %s, want those of the environment", server.GRPCAddress, server.AdminAddress)
	}
	if server.HTTPAddress != "127.0.0.1:18080" {
		t.Errorf("HTTP address %s, want the flag's, which takes precedence over the environment", server.HTTPAddress)
	}
	if server.DrainTimeout != 30*time.Second || server.DrainDelay != time.Second || server.MaxConcurrent != 7 || !server.Reflection || server.LogLevel != slog.LevelDebug {
		t.Errorf("got %+v, want the values of the environment", server)
	}
	if len(server.Protocols) != 2 || server.Protocols[0].ID != "harbour-clinic" || server.Protocols[1] != protocol.Default() {
		t.Errorf("protocols %v, want the clinic's first and the built-in one beside it", server.Protocols)
	}
}

// Source of the standard names: OpenTelemetry specification, environment
// variables; OTLP exporter configuration.
func TestEveryFlagHasItsVariable(t *testing.T) {
	standard := map[string][]string{
		"traces-endpoint":    {"OTEL_EXPORTER_OTLP_TRACES_ENDPOINT", "OTEL_EXPORTER_OTLP_ENDPOINT"},
		"traces-sampler":     {"OTEL_TRACES_SAMPLER"},
		"traces-sampler-arg": {"OTEL_TRACES_SAMPLER_ARG"},
	}
	set := flags.Of(new(Serve))
	if len(set.Flags) == 0 {
		t.Fatal("no flags")
	}
	for _, f := range set.Flags {
		want := standard[f.Name]
		if want == nil {
			want = []string{"EVENREACH_" + strings.ToUpper(strings.ReplaceAll(f.Name, "-", "_"))}
		}
		if !slices.Equal(f.Variables, want) {
			t.Errorf("--%s has the variables %q, want %q", f.Name, f.Variables, want)
		}
	}
}

// A misspelt variable leaves a setting at its default without a word.
func TestMisspeltVariables(t *testing.T) {
	env := map[string]string{
		"EVENREACH_AUTH_CLIENT":  "record",
		"EVENREACH_PORT":         "tcp://10.0.0.1:9090", // as Kubernetes sets for a Service
		"EVENREACH_SERVICE_HOST": "10.0.0.1",
	}
	_, err := parse(t, env).Resolve()
	if want := "EVENREACH_AUTH_CLIENT: there is no such variable; did you mean EVENREACH_AUTH_CLIENTS?"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

func TestEveryProblemIsReportedAtOnce(t *testing.T) {
	s := Serve{
		GRPCAddress:      "9090",
		HTTPAddress:      "127.0.0.1:http",
		AdminAddress:     "127.0.0.1:99999",
		Protocol:         filepath.Join(t.TempDir(), "absent.yaml"),
		DrainTimeout:     "soon",
		DrainDelay:       "-1s",
		MaxConcurrent:    "0",
		LogLevel:         "loud",
		LogPeer:          "loud",
		MaxConnections:   "0",
		MaxConnectionAge: "old",
		Auth:             Auth{InsecureNoAuth: "maybe"},
	}
	_, err := s.Resolve()
	if err == nil {
		t.Fatal("Resolve accepts a configuration of which every value is bad")
	}
	lines := strings.Split(err.Error(), "\n")
	for _, want := range []string{
		`--grpc-address (EVENREACH_GRPC_ADDRESS): found "9090"; expected host:port`,
		`--log-peer (EVENREACH_LOG_PEER): found "loud"; expected refused, address, pseudonym or none`,
		`--max-connections (EVENREACH_MAX_CONNECTIONS): found "0"; expected a whole number`,
		`--max-connection-age (EVENREACH_MAX_CONNECTION_AGE): found "old"; expected a duration`,
		`--http-address (EVENREACH_HTTP_ADDRESS): found the port "http"`,
		`--admin-address (EVENREACH_ADMIN_ADDRESS): found the port "99999"`,
		`--protocol (EVENREACH_PROTOCOL): `,
		`--drain-timeout (EVENREACH_DRAIN_TIMEOUT): found "soon"`,
		`--drain-delay (EVENREACH_DRAIN_DELAY): found "-1s"`,
		`--max-concurrent (EVENREACH_MAX_CONCURRENT): found "0"`,
		`--log-level (EVENREACH_LOG_LEVEL): found "loud"`,
		`--insecure-no-auth (EVENREACH_INSECURE_NO_AUTH): found "maybe"; expected true or false`,
		`--auth-issuers (EVENREACH_AUTH_ISSUERS): found none`,
		`--auth-audience (EVENREACH_AUTH_AUDIENCE): found ""`,
	} {
		if !hasPrefix(lines, want) {
			t.Errorf("no problem starts with %q in:\n%v", want, err)
		}
	}
}

func TestProblemsOfAProtocolFileAreAllReported(t *testing.T) {
	s := parse(t, nil)
	s.Protocol = write(t, `
symmetry:
  even: {value: 0}
pain:
  gate: {value: 11}
`)
	_, err := s.Resolve()
	if err == nil {
		t.Fatal("Resolve accepts a protocol file with problems")
	}
	for _, want := range []string{"symmetry.even", "pain.gate"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("the problems do not name %s:\n%v", want, err)
		}
	}
	for line := range strings.Lines(err.Error()) {
		if !strings.HasPrefix(line, "--protocol (EVENREACH_PROTOCOL): ") {
			t.Errorf("a problem does not name its option: %q", line)
		}
	}
}

func TestOnePortTwice(t *testing.T) {
	tests := []struct {
		name  string
		grpc  string
		http  string
		clash bool
	}{
		{"same address", "127.0.0.1:9000", "127.0.0.1:9000", true},
		{"all interfaces hold one of them", ":9000", "127.0.0.1:9000", true},
		{"unspecified address", "127.0.0.1:9000", "[::]:9000", true},
		{"two interfaces", "127.0.0.1:9000", "10.0.0.5:9000", false},
		{"any free port", "127.0.0.1:0", "127.0.0.1:0", false},
		{"two ports", ":9000", ":9001", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := parse(t, nil, "--insecure-no-tls")
			s.GRPCAddress, s.HTTPAddress = tt.grpc, tt.http
			_, err := s.Resolve()
			if clash := err != nil; clash != tt.clash {
				t.Errorf("%s and %s: error %v, want a problem: %v", tt.grpc, tt.http, err, tt.clash)
			}
		})
	}
}

func TestDrainDelayStaysBelowTheTimeout(t *testing.T) {
	s := parse(t, nil, "--drain-timeout=3s", "--drain-delay=3s")
	if _, err := s.Resolve(); err == nil {
		t.Error("Resolve accepts a delay that leaves no time to drain")
	}
}

func TestReadProtocol(t *testing.T) {
	tests := []struct {
		name string
		file string
		want string // in the error; empty for none
	}{
		{"a clinic's own", write(t, ownProtocol), ""},
		{"absent", filepath.Join(t.TempDir(), "absent.yaml"), "no such file"},
		{"a folder", t.TempDir(), "found a folder"},
		{"too long", write(t, "# "+strings.Repeat("x", maxFileSize)), "expected at most"},
		{"not YAML", write(t, "\t:"), "not YAML"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ReadProtocol(tt.file)
			if tt.want == "" {
				if err != nil {
					t.Errorf("ReadProtocol: %v", err)
				}
				return
			}
			if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.Contains(err.Error(), tt.file) {
				t.Errorf("ReadProtocol: %v, want the file's name and %q", err, tt.want)
			}
		})
	}
}

func hasPrefix(lines []string, prefix string) bool {
	for _, line := range lines {
		if strings.HasPrefix(line, prefix) {
			return true
		}
	}
	return false
}

// A code that is read as something else would never reach the measure of the clinic.
func TestOutcomeMeasureWithACodeOfOurs(t *testing.T) {
	measure := func(code string) string {
		return `{"id":"clinic","version":"1","outcomeMeasures":[{"id":"x","codes":[` + code + `],"title":{"en":"x"},"unit":"{points}","minimum":0,"maximum":10,` +
			`"better":"higher","detectable":{"comparison":">=","value":1,"unit":"{points}","source":"x"},"source":"x"}]}`
	}
	for _, tt := range []struct {
		name, code string
		accepted   bool
	}{
		{"pain", `{"system":"http://loinc.org","code":"72514-3"}`, false},
		{"a result of ours", `{"system":"https://evenreach.example/fhir/CodeSystem/shoulder","code":"red-flag"}`, false},
		{"the clinic's own", `{"system":"https://clinic.example/codes","code":"x"}`, true},
	} {
		_, err := ReadProtocol(write(t, measure(tt.code)))
		if (err == nil) != tt.accepted || err != nil && !strings.Contains(err.Error(), "outcomeMeasures.0.codes.0") {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}

// resolves holds the problem of a changed configuration of a service that lets everybody in
// against the option that has to be named; none for an empty one.
func resolves(t *testing.T, change func(*Serve), option string) {
	t.Helper()
	s := parse(t, nil)
	s.InsecureNoAuth, s.Issuers, s.Audience = "true", "", ""
	change(&s)
	_, err := s.Resolve()
	if (err == nil) != (option == "") || err != nil && !strings.Contains(err.Error(), "--"+option) {
		t.Errorf("found %v, want %q", err, option)
	}
}
