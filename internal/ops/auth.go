package ops

import (
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"
)

// AuthMetrics are those of authentication. Issuers are the configured ones, so
// their number is bounded.
type AuthMetrics struct {
	refusals *prometheus.CounterVec
	fetches  *prometheus.CounterVec
	fetched  *prometheus.GaugeVec
	usable   *usableKeys
}

// NewAuthMetrics registers the metrics of authentication with a registry.
func NewAuthMetrics(reg prometheus.Registerer) *AuthMetrics {
	auto := promauto.With(reg)
	usable := &usableKeys{}
	reg.MustRegister(usable)
	return &AuthMetrics{
		usable: usable,
		refusals: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_token_refusals_total",
			Help: "Callers refused, by the reason.",
		}, []string{"reason"}),
		fetches: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_jwks_fetches_total",
			Help: "Fetches of the keys of an issuer, by result: ok or failed.",
		}, []string{"issuer", "result"}),
		fetched: auto.NewGaugeVec(prometheus.GaugeOpts{
			Name: "evenreach_jwks_fetched_timestamp_seconds",
			Help: "When the keys in use were fetched from an issuer, in Unix time; the difference from now is their age.",
		}, []string{"issuer"}),
	}
}

// Usable adds issuers to the gauge of whether the keys of each can be used, which is asked with each scrape. There are
// two groups of them where callers and clients of CDS Hooks have issuers of their own.
func (m *AuthMetrics) Usable(ask func() map[string]bool) {
	m.usable.mu.Lock()
	defer m.usable.mu.Unlock()
	m.usable.asked = append(m.usable.asked, ask)
}

// usableKeys is a gauge for each issuer.
type usableKeys struct {
	mu    sync.Mutex
	asked []func() map[string]bool
}

// all tells of each issuer whether its keys can be used; of one in two groups, whether both can use them.
func (k *usableKeys) all() map[string]bool {
	k.mu.Lock()
	defer k.mu.Unlock()
	all := map[string]bool{}
	for _, ask := range k.asked {
		for issuer, usable := range ask() {
			before, known := all[issuer]
			all[issuer] = usable && (before || !known)
		}
	}
	return all
}

var keysUsable = prometheus.NewDesc("evenreach_jwks_usable",
	"1 if the keys of an issuer are there and have not expired, else 0: its callers get 503.", []string{"issuer"}, nil)

// Describe implements prometheus.Collector.
func (*usableKeys) Describe(descs chan<- *prometheus.Desc) { descs <- keysUsable }

// Collect implements prometheus.Collector.
func (k *usableKeys) Collect(metrics chan<- prometheus.Metric) {
	for issuer, usable := range k.all() {
		value := 0.0
		if usable {
			value = 1
		}
		metrics <- prometheus.MustNewConstMetric(keysUsable, prometheus.GaugeValue, value, issuer)
	}
}

// Expect makes series exist before their first event, so that a rate over time
// includes that event.
func (m *AuthMetrics) Expect(issuers, reasons []string) {
	for _, issuer := range issuers {
		m.fetches.WithLabelValues(issuer, "ok")
		m.fetches.WithLabelValues(issuer, "failed")
	}
	for _, reason := range reasons {
		m.refusals.WithLabelValues(reason)
	}
}

// Refused counts a refusal. The reason is one of a closed list.
func (m *AuthMetrics) Refused(reason string) { m.refusals.WithLabelValues(reason).Inc() }

// Fetched counts a fetch of an issuer's keys that began at a time.
func (m *AuthMetrics) Fetched(issuer string, ok bool, at time.Time) {
	if !ok {
		m.fetches.WithLabelValues(issuer, "failed").Inc()
		return
	}
	m.fetches.WithLabelValues(issuer, "ok").Inc()
	m.fetched.WithLabelValues(issuer).Set(float64(at.UnixNano()) / float64(time.Second))
}

// RegisterExpiry registers the time at which the certificate that is served expires.
func RegisterExpiry(reg prometheus.Registerer, expiry func() time.Time) {
	promauto.With(reg).NewGaugeFunc(prometheus.GaugeOpts{
		Name: "evenreach_tls_certificate_expiry_timestamp_seconds",
		Help: "When the certificate that is served ends, in Unix time.",
	}, func() float64 { return float64(expiry().Unix()) })
}
