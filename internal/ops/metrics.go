// Package ops is what an operator sees of the running service: metrics, one
// line of log for each request, and whether it is alive and ready. Nothing here
// names a patient: labels are closed lists, and of an input only counts and the
// codes of its issues are reported.
package ops

import (
	"regexp"
	"sync/atomic"
	"time"

	grpcprom "github.com/grpc-ecosystem/go-grpc-middleware/providers/prometheus"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promauto"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/measure"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/readiness"
	"evenreach.example/internal/redflag"
)

// Metrics are the service's own metrics.
type Metrics struct {
	grpc *grpcprom.ServerMetrics // the RPCs under their customary names

	httpRequests *prometheus.CounterVec
	httpDuration *prometheus.HistogramVec
	inFlight     *prometheus.GaugeVec

	assessments *prometheus.CounterVec
	flags       *prometheus.CounterVec
	doubts      *prometheus.CounterVec
	refusals    *prometheus.CounterVec
	issues      *prometheus.CounterVec
	duration    *prometheus.HistogramVec

	clients *clientMetrics
	tenants *tenantMetrics

	protocols *prometheus.GaugeVec
	reloads   *prometheus.CounterVec
	last      atomic.Pointer[Reload]

	doorMetrics
}

// buckets are in seconds. A re-check takes about a millisecond, a long history
// some ten; the upper ones are there to show trouble.
var buckets = []float64{.0005, .001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5}

// Of each time there are native buckets too, for a scraper that asks for them: each bound is at most a tenth above
// the one before, without a choice of ours. They are bounded, whatever was observed: 100 buckets of a series, after
// which neighbours are put together, and at most once an hour it begins anew.
//
// Source: the Prometheus documentation of native histograms, for factor and bound; the hour is common practice.
const (
	nativeFactor  = 1.1
	nativeBuckets = 100
	nativeReset   = time.Hour
)

// withNative adds native buckets to the options of a histogram.
func withNative(o *prometheus.HistogramOpts) {
	o.NativeHistogramBucketFactor, o.NativeHistogramMaxBucketNumber, o.NativeHistogramMinResetDuration = nativeFactor, nativeBuckets, nativeReset
}

// times are the options of a histogram of seconds.
func times(name, help string) prometheus.HistogramOpts {
	o := prometheus.HistogramOpts{Name: name, Help: help, Buckets: buckets}
	withNative(&o)
	return o
}

var liveHeap = regexp.MustCompile(`^/gc/heap/live:bytes$`)

// NewMetrics registers the service's metrics, and those of the Go runtime and
// the process, with a registry. Version is that of the software; protocols are
// the loaded ones, the default first.
func NewMetrics(reg prometheus.Registerer, version string, protocols []*protocol.Protocol) *Metrics {
	reg.MustRegister(
		// The heap in use goes up and down with each collection; what the last
		// one left over tells whether it grows.
		collectors.NewGoCollector(collectors.WithGoCollectorRuntimeMetrics(collectors.GoRuntimeMetricsRule{Matcher: liveHeap})),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))

	auto := promauto.With(reg)
	m := &Metrics{
		protocols: registerConstants(auto, version),
		reloads: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_reloads_total",
			Help: "Changes of protocol, code map or tenants that were taken up, or refused because something is wrong with them, by result: ok or refused.",
		}, []string{"result"}),
		grpc: grpcprom.NewServerMetrics(
			grpcprom.WithServerHandlingTimeHistogram(grpcprom.WithHistogramBuckets(buckets), withNative)),
		httpRequests: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_http_requests_total",
			Help: "HTTP requests answered, by route, method and status.",
		}, []string{"operation", "method", "code"}),
		httpDuration: auto.NewHistogramVec(times("evenreach_http_request_duration_seconds",
			"Time to answer an HTTP request, by route."), []string{"operation"}),
		inFlight: auto.NewGaugeVec(prometheus.GaugeOpts{
			Name: "evenreach_requests_in_flight",
			Help: "Requests being answered, by door: http, grpc, mllp, queue, or stream and batch for each request of one.",
		}, []string{"door"}),
		assessments: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_assessments_total",
			Help: "Assessments made, by the overall status that was found.",
		}, []string{"status"}),
		flags: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_red_flags_total",
			Help: "Assessments in which a red flag holds, by its code.",
		}, []string{"code"}),
		doubts: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_doubts_total",
			Help: "Assessments in which a measurement is in doubt, by the code of the doubt.",
		}, []string{"code"}),
		refusals: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_refusals_total",
			Help: "Requests refused, by the kind of issue that decided it; canceled if the caller hung up.",
		}, []string{"code"}),
		issues: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_input_issues_total",
			Help: "Issues found in inputs, by kind and severity.",
		}, []string{"code", "severity"}),
		duration: auto.NewHistogramVec(times("evenreach_answer_duration_seconds",
			"Time to answer a request for an assessment, assessed or refused, by door."), []string{"door"}),
		clients:     newClientMetrics(auto),
		tenants:     newTenantMetrics(auto),
		doorMetrics: newDoorMetrics(auto),
	}
	reg.MustRegister(m.grpc)
	m.startAtZero()
	m.loaded(protocols)
	m.last.Store(&Reload{Read: time.Now()})
	return m
}

// doubts lists the doubts, in the order of their values.
var doubts = [...]measure.Doubt{
	measure.TrialsDisagree, measure.SidesMayBeSwapped, measure.UnitMayBeWrong, measure.ComparisonDeclined,
}

// ownFailures are the refusals that count against the objective of availability. Without their series
// the share of failures of a service that has failed nobody would be unknown, not nothing.
var ownFailures = [...]fault.Kind{fault.Internal, fault.Timeout, fault.Unavailable}

// startAtZero makes series exist before their first event, so that a rate over time
// includes that event.
func (m *Metrics) startAtZero() {
	for _, overall := range readiness.Overalls {
		m.assessments.WithLabelValues(overall.String())
	}
	for _, code := range redflag.Codes {
		m.flags.WithLabelValues(code.String())
	}
	for _, doubt := range doubts {
		m.doubts.WithLabelValues(doubt.String())
	}
	for _, kind := range ownFailures {
		m.refusals.WithLabelValues(kind.String())
	}
	m.reloads.WithLabelValues("ok")
	m.reloads.WithLabelValues("refused")
	m.startDoorsAtZero()
	for _, door := range doors {
		m.inFlight.WithLabelValues(string(door))
		m.duration.WithLabelValues(string(door))
	}
}

// countFound counts what an assessment found: its status, and once each red flag
// that holds and each kind of doubt.
func (m *Metrics) countFound(found *readiness.Readiness) {
	m.assessments.WithLabelValues(found.Overall.String()).Inc()
	for i := range found.Flags {
		if f := &found.Flags[i]; f.Holds() {
			m.flags.WithLabelValues(f.Code.String()).Inc()
		}
	}
	var counted [len(doubts)]bool
	for _, d := range found.Doubts {
		if !counted[d.Doubt] {
			m.doubts.WithLabelValues(d.Doubt.String()).Inc()
		}
		counted[d.Doubt] = true
	}
}

// registerConstants registers what is constant while the process runs, and returns the gauge of
// the protocols, which may be replaced.
func registerConstants(auto promauto.Factory, version string) *prometheus.GaugeVec {
	auto.NewGaugeVec(prometheus.GaugeOpts{
		Name: "evenreach_build_info",
		Help: "Always 1; the labels tell the version of the software.",
	}, []string{"version"}).WithLabelValues(version).Set(1)

	return auto.NewGaugeVec(prometheus.GaugeOpts{
		Name: "evenreach_protocol_info",
		Help: "1 for the default protocol, 0 for the others that are loaded; the labels tell id, version and digest of the content.",
	}, []string{"id", "version", "digest"})
}

// loaded tells which protocols there are, the default first.
func (m *Metrics) loaded(protocols []*protocol.Protocol) {
	m.protocols.Reset()
	for i, p := range protocols {
		isDefault := 0.0
		if i == 0 {
			isDefault = 1
		}
		m.protocols.WithLabelValues(p.ID, p.Version, p.Digest()).Set(isDefault)
	}
}

// Loaded tells which protocols requests are answered by from now on, the default first.
func (w *Watch) Loaded(protocols []*protocol.Protocol) {
	w.metrics.loaded(protocols)
	w.metrics.reloads.WithLabelValues("ok").Inc()
	w.metrics.last.Store(&Reload{Read: time.Now()})
}

// ReloadRefused logs what is wrong with a changed protocol, code map or tenants file, and that those from
// before go on.
func (w *Watch) ReloadRefused(err error) {
	w.metrics.reloads.WithLabelValues("refused").Inc()
	w.metrics.last.Store(&Reload{Refused: true, Read: w.metrics.last.Load().Read})
	w.log.Error("protocol, code map and tenants not replaced", "error", err.Error())
}

// LastReload is what became of protocol, code map and tenants as they are now.
func (w *Watch) LastReload() Reload { return *w.metrics.last.Load() }
