package config

import (
	"cmp"
	"crypto/tls"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"

	sdktrace "go.opentelemetry.io/otel/sdk/trace"

	"evenreach.example/internal/auth"
	"evenreach.example/internal/ops"
)

// Traces is the configuration of traces as it was written. The variables
// are those that OpenTelemetry has for every program.
type Traces struct {
	Endpoint   string `name:"traces-endpoint" env:"OTEL_EXPORTER_OTLP_TRACES_ENDPOINT,OTEL_EXPORTER_OTLP_ENDPOINT" placeholder:"URL" help:"The collector that traces are sent to, by OTLP over gRPC (no traces)."`
	Sampler    string `name:"traces-sampler" env:"OTEL_TRACES_SAMPLER" placeholder:"NAME" help:"Which traces: a sampler of OpenTelemetry (parentbased_always_on)."`
	SamplerArg string `name:"traces-sampler-arg" env:"OTEL_TRACES_SAMPLER_ARG" placeholder:"RATIO" help:"The share of traces, from 0 to 1, for the samplers by ratio (1)."`
}

// resolve says where traces are sent; nil for nowhere. No value is quoted in a
// problem: a header or an address may hold a password.
func (t Traces) resolve(r *resolver) *ops.TraceConfig {
	if t.Endpoint == "" || strings.EqualFold(os.Getenv("OTEL_SDK_DISABLED"), "true") || os.Getenv("OTEL_TRACES_EXPORTER") == "none" {
		return nil
	}
	r.standard()
	return &ops.TraceConfig{Endpoint: r.collector(t.Endpoint), Sampler: r.sampler(t.Sampler, t.SamplerArg)}
}

// collector checks the address of a collector.
func (r *resolver) collector(address string) string {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Port() == "" || u.User != nil || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" {
		r.report("traces-endpoint", "found something else; expected http:// or https://, host and port, such as http://collector:4317")
	}
	return address
}

// sampler makes a sampler of its name.
//
// Source: OpenTelemetry specification, environment variables, general SDK
// configuration.
func (r *resolver) sampler(name, arg string) sdktrace.Sampler {
	name, fromParent := strings.CutPrefix(cmp.Or(name, "parentbased_always_on"), "parentbased_")
	var own sdktrace.Sampler
	switch name {
	case "always_on":
		own = sdktrace.AlwaysSample()
	case "always_off":
		own = sdktrace.NeverSample()
	case "traceidratio":
		own = sdktrace.TraceIDRatioBased(r.ratio(arg))
	default:
		r.report("traces-sampler", "found something else; expected always_on, always_off or traceidratio, or one of these after parentbased_")
		return nil
	}
	if fromParent {
		return sdktrace.ParentBased(own)
	}
	return own
}

func (r *resolver) ratio(text string) float64 {
	if text == "" {
		return 1
	}
	ratio, err := strconv.ParseFloat(text, 64)
	if err != nil || !(0 <= ratio && ratio <= 1) { // NaN is neither
		r.report("traces-sampler-arg", "found something else; expected a number from 0 to 1")
	}
	return ratio
}

// A standardVariable is one of OpenTelemetry's that the SDK reads by itself, and of
// which it would ignore a bad value silently.
type standardVariable struct {
	name, expected string
	fits           func(value string) bool
}

// Source of the names: OpenTelemetry specification, environment variables, and
// OTLP exporter configuration. OTLP stands for OTLP and OTLP_TRACES.
var standardVariables = []standardVariable{
	{"OTEL_TRACES_EXPORTER", "otlp or none", oneOf("otlp")},
	{"OTEL_SDK_DISABLED", "true or false", isFalse},
	{"OTEL_EXPORTER_OTLP_PROTOCOL", "grpc", oneOf("grpc")},
	{"OTEL_EXPORTER_OTLP_COMPRESSION", "gzip or none", oneOf("gzip", "none")},
	{"OTEL_EXPORTER_OTLP_TIMEOUT", "milliseconds, at least 1", isCount},
	{"OTEL_EXPORTER_OTLP_HEADERS", "NAME=VALUE,...", arePairs},
	{"OTEL_EXPORTER_OTLP_CERTIFICATE", "a file with certificates in PEM", holdsCertificates},
	{"OTEL_RESOURCE_ATTRIBUTES", "NAME=VALUE,...", arePairs},
	{"OTEL_BSP_SCHEDULE_DELAY", "milliseconds, at least 1", isCount},
	{"OTEL_BSP_EXPORT_TIMEOUT", "milliseconds, at least 1", isCount},
	{"OTEL_BSP_MAX_QUEUE_SIZE", "a whole number of at least 1", isCount},
	{"OTEL_BSP_MAX_EXPORT_BATCH_SIZE", "a whole number of at least 1", isCount},
}

// standard checks the variables that the SDK reads.
func (r *resolver) standard() {
	for _, v := range standardVariables {
		for _, name := range forTraces(v.name) {
			if value := strings.TrimSpace(os.Getenv(name)); value != "" && !v.fits(value) {
				r.reportOn(name, "found something else; expected %s", v.expected)
			}
		}
	}
	keys := forTraces("OTEL_EXPORTER_OTLP_CLIENT_KEY")
	for i, name := range forTraces("OTEL_EXPORTER_OTLP_CLIENT_CERTIFICATE") {
		certificate, key := os.Getenv(name), os.Getenv(keys[i])
		if certificate == "" && key == "" {
			continue
		}
		if _, err := tls.LoadX509KeyPair(certificate, key); err != nil {
			r.reportOn(name, "found no pair; expected a file with a certificate, and its key in the file of %s, in PEM", keys[i])
		}
	}
}

// forTraces are the two names of a variable of the exporter.
func forTraces(name string) []string {
	if of, ok := strings.CutPrefix(name, "OTEL_EXPORTER_OTLP_"); ok {
		return []string{name, "OTEL_EXPORTER_OTLP_TRACES_" + of}
	}
	return []string{name}
}

func oneOf(values ...string) func(string) bool {
	return func(value string) bool { return slices.Contains(values, value) }
}

func isFalse(value string) bool { return strings.EqualFold(value, "false") }

func isCount(value string) bool {
	n, err := strconv.Atoi(value)
	return err == nil && n >= 1
}

func arePairs(value string) bool {
	for pair := range strings.SplitSeq(value, ",") {
		name, text, found := strings.Cut(pair, "=")
		if _, err := url.PathUnescape(text); !found || strings.TrimSpace(name) == "" || err != nil {
			return false
		}
	}
	return true
}

func holdsCertificates(file string) bool {
	_, err := auth.ReadAuthorities(file)
	return err == nil
}
