package ops

import (
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/ops/opstest"
)

// Native buckets stand beside the classic ones that the alerts use, and stay bounded whatever takes how long.
func TestNativeBucketsAreBounded(t *testing.T) {
	registry := prometheus.NewRegistry()
	m := NewMetrics(registry, "test", nil)
	const observed = 20_000
	for i := range observed {
		m.duration.WithLabelValues(string(HTTP)).Observe(math.Pow(10, float64(i%1000)/100-6)) // a microsecond to three hours
	}
	families, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, family := range families {
		for _, metric := range family.GetMetric() {
			h := metric.GetHistogram()
			if h == nil || family.GetName() == "evenreach_answer_duration_seconds" && h.GetSampleCount() == 0 {
				continue
			}
			found++
			native := len(h.GetPositiveDelta()) + len(h.GetPositiveCount())
			if native == 0 && h.GetSampleCount() > 0 || native > nativeBuckets || len(h.GetBucket()) != len(buckets) {
				t.Errorf("%s: %d native and %d classic buckets, want some and at most %d, and %d", family.GetName(), native, len(h.GetBucket()), nativeBuckets, len(buckets))
			}
			if h.GetSampleCount() != observed {
				t.Errorf("%s: %d times, want %d", family.GetName(), h.GetSampleCount(), observed)
			}
		}
	}
	if found != 1 {
		t.Errorf("%d histograms with times, want one", found)
	}
}

// Who asks for text, as the scrapers of today do, sees classic buckets alone.
func TestScrapersOfTextSeeClassicBuckets(t *testing.T) {
	registry := prometheus.NewRegistry()
	NewMetrics(registry, "test", nil).duration.WithLabelValues(string(HTTP)).Observe(0.003)
	for accept, want := range map[string]bool{"": true, "application/openmetrics-text;version=1.0.0": true, "application/vnd.google.protobuf;proto=io.prometheus.client.MetricFamily;encoding=delimited": false} {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/metrics", nil)
		r.Header.Set("Accept", accept)
		w := httptest.NewRecorder()
		Admin(registry, NewHealth()).ServeHTTP(w, r)
		if got := strings.Contains(w.Body.String(), `evenreach_answer_duration_seconds_bucket{door="http",le="0.005"} 1`); got != want || w.Code != http.StatusOK {
			t.Errorf("Accept %q: HTTP %d, classic buckets as text: %v, want %v", accept, w.Code, got, want)
		}
	}
}

// The exemplars of native buckets hold the trace, and nothing else.
func TestNativeExemplarsHoldTheTraceAlone(t *testing.T) {
	watch, registry, _ := watching()
	var collector opstest.Collector
	watch.Trace(collector.Provider(t))
	_, call := watch.Begin(watch.JoinHTTP(t.Context(), http.Header{"Traceparent": {sampled}}), HTTP, "id", "route")
	call.Client, call.Person, call.Tenant = "record", "somebody", "clinic"
	watch.EndHTTP(call, http.MethodPost, http.StatusOK)
	families, err := registry.Gather()
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, family := range families {
		for _, metric := range family.GetMetric() {
			for _, exemplar := range metric.GetHistogram().GetExemplars() {
				found++
				if labels := exemplar.GetLabel(); len(labels) != 1 || labels[0].GetName() != "trace_id" || !strings.Contains(sampled, labels[0].GetValue()) {
					t.Errorf("%s: an exemplar has %v, want the trace alone", family.GetName(), labels)
				}
			}
		}
	}
	if found != 2 { // by the route, and by the door
		t.Errorf("%d exemplars of native buckets, want 2", found)
	}
}
