package ops

import (
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"
)

// ConnectionMetrics are those of the connections of one door.
type ConnectionMetrics struct {
	open    prometheus.Gauge
	refused prometheus.Counter
}

// NewConnectionMetrics registers the metrics of connections with a registry, and
// returns those of HTTP and of gRPC.
func NewConnectionMetrics(reg prometheus.Registerer) (rest, rpc *ConnectionMetrics) {
	auto := promauto.With(reg)
	open := auto.NewGaugeVec(prometheus.GaugeOpts{
		Name: "evenreach_connections",
		Help: "Connections that are open, by door: http or grpc.",
	}, []string{"door"})
	refused := auto.NewCounterVec(prometheus.CounterOpts{
		Name: "evenreach_connections_refused_total",
		Help: "Connections that were closed at once because there were as many as there may be, by door: http or grpc.",
	}, []string{"door"})
	of := func(door Door) *ConnectionMetrics {
		return &ConnectionMetrics{open.WithLabelValues(string(door)), refused.WithLabelValues(string(door))}
	}
	return of(HTTP), of(GRPC)
}

// Opened counts a connection in.
func (m *ConnectionMetrics) Opened() { m.open.Inc() }

// Closed counts a connection out.
func (m *ConnectionMetrics) Closed() { m.open.Dec() }

// Refused counts a connection that was closed at once.
func (m *ConnectionMetrics) Refused() { m.refused.Inc() }
