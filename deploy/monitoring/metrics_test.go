package monitoring_test

import (
	"context"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/audit"
	"evenreach.example/internal/auth"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/ops"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/service"
)

// labels are the label names of a metric, each with the values that it has.
type labels map[string][]string

// live is every metric of a service that has seen every kind of problem, by the
// names that a query uses, with those that Prometheus itself adds.
func live(t *testing.T) map[string]labels {
	t.Helper()
	registry := prometheus.NewRegistry()
	log := ops.NewLogger(io.Discard, 0)
	watch := ops.NewWatch(ops.NewMetrics(registry, "1.0.0", []*protocol.Protocol{protocol.Default()}), log)
	metrics := ops.NewAuthMetrics(registry)
	ops.RegisterReloads(registry, map[string]func() ops.Reload{"protocol": watch.LastReload})
	auth.New(auth.Config{
		Issuers: []auth.Issuer{{Name: "https://id.example", Keys: "https://id.example/keys"}},
		HTTP:    http.DefaultClient,
	}, metrics, log)
	metrics.Fetched("https://id.example", true, time.Unix(1, 0))
	lines := ops.NewLogWriter(io.Discard)
	defer lines.Close()
	ops.RegisterDropped(registry, lines)
	ops.NewConnectionMetrics(registry)
	ops.RegisterQueue(registry, func() int { return 0 }, func() time.Duration { return 0 })
	audit.New(audit.Config{To: io.Discard}, "1.0.0", registry).Close()
	ops.RegisterExpiry(registry, func() time.Time { return time.Unix(1, 0) })
	service.New(&service.Pipeline{}, watch, auth.Anyone{}, service.Config{MaxConcurrent: 1}).GRPC(ops.NewHealth().GRPC())
	meetEveryProblem(watch)

	found := map[string]labels{"up": {"job": {"evenreach"}, "instance": nil, "namespace": nil}}
	families, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	for _, family := range families {
		name := family.GetName()
		for _, metric := range family.GetMetric() {
			names := []string{name}
			if metric.GetHistogram() != nil {
				names = []string{name + "_bucket", name + "_count", name + "_sum"}
			}
			for _, name := range names {
				if found[name] == nil {
					found[name] = labels{"job": {"evenreach"}, "instance": nil, "namespace": nil}
				}
				for _, bucket := range metric.GetHistogram().GetBucket() {
					if strings.HasSuffix(name, "_bucket") {
						found[name]["le"] = append(found[name]["le"], strconv.FormatFloat(bucket.GetUpperBound(), 'g', -1, 64))
					}
				}
				for _, pair := range metric.GetLabel() {
					found[name][pair.GetName()] = append(found[name][pair.GetName()], pair.GetValue())
				}
			}
		}
	}
	return found
}

// meetEveryProblem answers a request of every kind of problem and severity.
func meetEveryProblem(watch *ops.Watch) {
	_, gone := watch.Begin(context.Background(), ops.HTTP, "id", "route")
	gone.Gone()
	gone.Client = "client"
	watch.Tenants(map[string]*protocol.Protocol{"clinic": protocol.Default()})
	gone.Tenant = "clinic"
	watch.Throttled("clinic", "client", "rate")
	watch.EndHTTP(gone, http.MethodPost, http.StatusBadRequest)
	severities := []fault.Severity{fault.Information, fault.Warning, fault.Error, fault.Fatal}
	for _, kind := range fault.Kinds() {
		for _, severity := range severities {
			_, call := watch.Begin(context.Background(), ops.HTTP, "id", "route")
			call.Refused(&fault.Errors{Issues: []fault.Issue{{Kind: kind, Severity: severity}, {Kind: kind, Severity: fault.Error}}})
			watch.EndHTTP(call, http.MethodPost, http.StatusBadRequest)
		}
	}
}

func TestLiveMetricsAreThose(t *testing.T) {
	found := live(t)
	for _, want := range []string{"evenreach_refusals_total", "evenreach_http_request_duration_seconds_bucket", "process_cpu_seconds_total"} {
		if found[want] == nil {
			t.Errorf("no %s, so that this test would refuse every query", want)
		}
	}
	if codes := found["evenreach_refusals_total"]["code"]; !slices.Contains(codes, "no-involved-side") {
		t.Errorf("codes of refusals are %q, want those of every kind", codes)
	}
}

// The adapter serves the autoscaler a metric that the service has, by labels that the operator's scrape adds.
func TestAutoscalerAsksForAMetricThatExists(t *testing.T) {
	adapter := string(read(t, "../kubernetes/examples/queue-autoscaler/adapter.yaml"))
	series := regexp.MustCompile(`seriesQuery: '(\w+)\{`).FindStringSubmatch(adapter)
	if series == nil || live(t)[series[1]] == nil {
		t.Errorf("the adapter's rule asks for %q, which the service does not have", series)
	}
}
