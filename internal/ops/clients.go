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
	named map[string]bool
}

const (
	// maxClients bounds the clients that have series of their own; all further ones are
	// "other". Ours: a hospital has some dozen.
	maxClients = 50
	// maxClientName bounds a label, in bytes: an issuer may give a client any id.
	maxClientName = 64
)

func newClientMetrics(auto promauto.Factory) *clientMetrics {
	return &clientMetrics{
		named: map[string]bool{},
		requests: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_client_requests_total",
			Help: "Requests of clients that were let in, by client: the first 50 by their ids, the others as other.",
		}, []string{"client"}),
		seconds: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_client_seconds_total",
			Help: "Time to answer them, by client.",
		}, []string{"client"}),
		throttled: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_client_throttled_total",
			Help: "Requests refused because their client takes more than its share, by client and limit: rate or concurrent.",
		}, []string{"client", "limit"}),
	}
}

// label is how metrics name a client.
func (m *clientMetrics) label(client string) string {
	client = strings.ToValidUTF8(client[:min(len(client), maxClientName)], "")
	m.mu.Lock()
	defer m.mu.Unlock()
	if !m.named[client] && len(m.named) >= maxClients {
		return "other"
	}
	m.named[client] = true
	return client
}

// answered counts a request of a client that was let in.
func (m *clientMetrics) answered(c *Call, elapsed float64) {
	if c.Client == "" || c.Denied != "" {
		return
	}
	label := m.label(c.Client)
	m.requests.WithLabelValues(label).Inc()
	m.seconds.WithLabelValues(label).Add(elapsed)
}

// Throttled counts a request that was refused because its client takes more than its
// share. The limit is of a closed list.
func (w *Watch) Throttled(client, limit string) {
	w.metrics.clients.throttled.WithLabelValues(w.metrics.clients.label(client), limit).Inc()
}
