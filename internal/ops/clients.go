package ops

import (
	"strings"
	"sync"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"
)

// clientMetrics tell the clients apart.
type clientMetrics struct {
	requests  *prometheus.CounterVec
	seconds   *prometheus.CounterVec
	throttled *prometheus.CounterVec

	mu    sync.Mutex
	named map[clientName]bool
}

// clientName names a client: two tenants may each have one of the same id.
type clientName struct{ tenant, client string }

const (
	// maxClients bounds the clients that have series of their own; all further ones are
	// "other". Ours: a hospital has some dozen.
	maxClients = 50
	// maxClientName bounds a label, in bytes: an issuer may give a client any id.
	maxClientName = 64
)

func newClientMetrics(auto promauto.Factory) *clientMetrics {
	return &clientMetrics{
		named: map[clientName]bool{},
		requests: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_client_requests_total",
			Help: "Requests of clients that were let in, by client: the first 50 by their ids, the others as other.",
		}, []string{"tenant", "client"}),
		seconds: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_client_seconds_total",
			Help: "Time to answer them, by client.",
		}, []string{"tenant", "client"}),
		throttled: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_client_throttled_total",
			Help: "Requests refused because their client takes more than its share, by client and limit: rate or concurrent.",
		}, []string{"tenant", "client", "limit"}),
	}
}

// label is how metrics name a client.
func (m *clientMetrics) label(tenant, client string) string {
	client = strings.ToValidUTF8(client[:min(len(client), maxClientName)], "")
	m.mu.Lock()
	defer m.mu.Unlock()
	name := clientName{tenant, client}
	if !m.named[name] && len(m.named) >= maxClients {
		return "other"
	}
	m.named[name] = true
	return client
}

// answered counts a request of a client that was let in.
func (m *clientMetrics) answered(c *Call, elapsed float64) {
	if c.Client == "" || c.Denied != "" {
		return
	}
	label := m.label(c.Tenant, c.Client)
	m.requests.WithLabelValues(c.Tenant, label).Inc()
	m.seconds.WithLabelValues(c.Tenant, label).Add(elapsed)
}

// Throttled counts a request that was refused because its client takes more than its
// share. The limit is of a closed list.
func (w *Watch) Throttled(tenant, client, limit string) {
	m := w.metrics.clients
	m.throttled.WithLabelValues(tenant, m.label(tenant, client), limit).Inc()
}
