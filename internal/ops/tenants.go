package ops

import (
	"sync"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"

	"evenreach.example/internal/protocol"
)

// tenantMetrics tell the tenants apart, by their configured names alone.
type tenantMetrics struct {
	requests  *prometheus.CounterVec
	seconds   *prometheus.CounterVec
	refusals  *prometheus.CounterVec
	protocols *prometheus.GaugeVec

	mu    sync.Mutex
	known map[string]bool
}

func newTenantMetrics(auto promauto.Factory) *tenantMetrics {
	return &tenantMetrics{
		known: map[string]bool{},
		requests: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_tenant_requests_total",
			Help: "Requests of callers who belong to a tenant, by its configured name.",
		}, []string{"tenant"}),
		seconds: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_tenant_seconds_total",
			Help: "Time to answer them.",
		}, []string{"tenant"}),
		refusals: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_tenant_refusals_total",
			Help: "Those of them that were refused, by the kind of issue that decided it.",
		}, []string{"tenant", "code"}),
		protocols: auto.NewGaugeVec(prometheus.GaugeOpts{
			Name: "evenreach_tenant_protocol_info",
			Help: "Always 1: the protocol that a tenant decides by, by id, version and digest of the content.",
		}, []string{"tenant", "id", "version", "digest"}),
	}
}

// answered counts a request of a tenant.
func (m *tenantMetrics) answered(c *Call, elapsed float64) {
	m.mu.Lock()
	known := m.known[c.Tenant]
	m.mu.Unlock()
	if !known {
		return // of nobody, or of one that was taken away meanwhile
	}
	m.requests.WithLabelValues(c.Tenant).Inc()
	m.seconds.WithLabelValues(c.Tenant).Add(elapsed)
	if c.decided != "" {
		m.refusals.WithLabelValues(c.Tenant, c.decided).Inc()
	}
}

// Tenants tells which tenants there are from now on, each with the protocol that it decides by. The series of those that
// are gone end.
func (w *Watch) Tenants(now map[string]*protocol.Protocol) {
	m := w.metrics.tenants
	m.mu.Lock()
	defer m.mu.Unlock()
	for name := range m.known {
		if now[name] == nil {
			m.forget(name)
		}
	}
	m.protocols.Reset()
	for name, p := range now {
		m.known[name] = true
		m.requests.WithLabelValues(name)
		m.seconds.WithLabelValues(name)
		m.protocols.WithLabelValues(name, p.ID, p.Version, p.Digest()).Set(1)
	}
}

func (m *tenantMetrics) forget(name string) {
	of := prometheus.Labels{"tenant": name}
	delete(m.known, name)
	m.requests.DeletePartialMatch(of)
	m.seconds.DeletePartialMatch(of)
	m.refusals.DeletePartialMatch(of)
}
