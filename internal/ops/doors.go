package ops

import (
	"log/slog"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"
)

// doorMetrics are those of HL7 version 2 and of CDS Hooks.
type doorMetrics struct {
	messages    *prometheus.CounterVec
	connections prometheus.Gauge
	handedOn    *prometheus.CounterVec
	cards       *prometheus.CounterVec
	feedback    *prometheus.CounterVec
	fetches     *prometheus.CounterVec
}

func newDoorMetrics(auto promauto.Factory) doorMetrics {
	return doorMetrics{
		messages: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_mllp_messages_total",
			Help: "Messages acknowledged over MLLP, by the code of the acknowledgement: AA, AE or AR.",
		}, []string{"code"}),
		connections: auto.NewGauge(prometheus.GaugeOpts{
			Name: "evenreach_mllp_connections",
			Help: "Connections over MLLP that are open.",
		}),
		handedOn: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_handed_on_total",
			Help: "Answers handed on to the configured target, by its kind, fhir or mllp, and the result: ok, refused or failed.",
		}, []string{"target", "result"}),
		cards: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_cds_cards_total",
			Help: "Cards of CDS Hooks sent, by their topic.",
		}, []string{"topic"}),
		feedback: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_cds_feedback_total",
			Help: "Cards of CDS Hooks about which feedback came, by outcome, accepted or overridden, and reason.",
		}, []string{"outcome", "reason"}),
		fetches: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_cds_fetches_total",
			Help: "Prefetch that was missing and asked for from the caller's FHIR server, by result: ok, failed, or denied if the server is not allowed.",
		}, []string{"result"}),
	}
}

// startDoorsAtZero makes series exist before their first event.
func (m *doorMetrics) startDoorsAtZero() {
	for _, code := range []string{"AA", "AE", "AR"} {
		m.messages.WithLabelValues(code)
	}
	for _, target := range []string{"fhir", "mllp"} {
		for _, result := range []string{"ok", "refused", "failed"} {
			m.handedOn.WithLabelValues(target, result)
		}
	}
	for _, result := range []string{"ok", "failed", "denied"} {
		m.fetches.WithLabelValues(result)
	}
}

// EndMLLP records a message that came in over MLLP, by the code of its acknowledgement.
func (w *Watch) EndMLLP(c *Call, code string) {
	c.endMLLP(code)
	w.metrics.messages.WithLabelValues(code).Inc()
	w.end(c, slog.String("code", code))
}

// MLLPConnections tells how many connections are open.
func (w *Watch) MLLPConnections(n int) { w.metrics.connections.Set(float64(n)) }

// HandedOn counts an answer that was handed on, or could not be. Both are of closed lists.
func (w *Watch) HandedOn(target, result string) {
	w.metrics.handedOn.WithLabelValues(target, result).Inc()
}

// Card counts a card that was sent. The topic is of a closed list.
func (w *Watch) Card(topic string) { w.metrics.cards.WithLabelValues(topic).Inc() }

// Feedback counts feedback on a card. Both are of closed lists.
func (w *Watch) Feedback(outcome, reason string) {
	w.metrics.feedback.WithLabelValues(outcome, reason).Inc()
}

// Fetched counts a prefetch that was asked for. The result is of a closed list.
func (w *Watch) Fetched(result string) { w.metrics.fetches.WithLabelValues(result).Inc() }
