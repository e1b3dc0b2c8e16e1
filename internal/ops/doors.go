package ops

import (
	"log/slog"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promauto"
	semconv "go.opentelemetry.io/otel/semconv/v1.43.0"
)

// doorMetrics are those of HL7 version 2, of CDS Hooks and of the configured record.
type doorMetrics struct {
	messages    *prometheus.CounterVec
	connections prometheus.Gauge
	handedOn    *prometheus.CounterVec
	cards       *prometheus.CounterVec
	feedback    *prometheus.CounterVec
	fetches     *prometheus.CounterVec

	notifications *prometheus.CounterVec
	queued        *prometheus.CounterVec
	asked         *prometheus.CounterVec
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
		notifications: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_notifications_total",
			Help: "Notifications of the configured record, by result: taken, empty if they name no patient, or refused, after which the record sends them again.",
		}, []string{"result"}),
		queued: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_queued_assessments_total",
			Help: "Assessments that notifications led to, by result: stored, nothing if there was nothing to assess, refused, or failed if it is tried again.",
		}, []string{"result"}),
		asked: auto.NewCounterVec(prometheus.CounterOpts{
			Name: "evenreach_record_requests_total",
			Help: "Requests to the configured record, by kind, search, read or transaction, and result: ok, busy, conflict, refused or failed.",
		}, []string{"kind", "result"}),
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
	for _, result := range []string{"taken", "empty", "refused"} {
		m.notifications.WithLabelValues(result)
	}
	for _, result := range []string{"stored", "nothing", "refused", "failed"} {
		m.queued.WithLabelValues(result)
	}
	for _, kind := range []string{"search", "read", "transaction"} {
		for _, result := range []string{"ok", "busy", "conflict", "refused", "failed"} {
			m.asked.WithLabelValues(kind, result)
		}
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

// Notified counts a notification. The result is of a closed list.
func (w *Watch) Notified(result string) { w.metrics.notifications.WithLabelValues(result).Inc() }

// AskedRecord counts a request to the configured record. Both are of closed lists.
func (w *Watch) AskedRecord(kind, result string) { w.metrics.asked.WithLabelValues(kind, result).Inc() }

// EndQueued records an assessment that a notification led to. The result is of a closed list.
func (w *Watch) EndQueued(c *Call, result string) {
	c.endQueue(result)
	w.metrics.queued.WithLabelValues(result).Inc()
	w.end(c, slog.String("result", result))
}

// EndBatch records one request of a batch, by the status of its answer.
func (w *Watch) EndBatch(c *Call, status int) {
	if c.span != nil {
		c.span.SetName(c.Operation)
		c.endCall(semconv.HTTPResponseStatusCode(status))
	}
	w.end(c, slog.Int("status", status))
}

// RegisterQueue tells with each scrape how many patients wait for an assessment, and how long the first of them.
func RegisterQueue(reg prometheus.Registerer, length func() int, oldest func() time.Duration) {
	promauto.With(reg).NewGaugeFunc(prometheus.GaugeOpts{
		Name: "evenreach_queue_oldest_seconds",
		Help: "How long the patient who waits longest has waited, the tries that failed included; 0 if nobody waits.",
	}, func() float64 { return oldest().Seconds() })
	promauto.With(reg).NewGaugeFunc(prometheus.GaugeOpts{
		Name: "evenreach_queue_length",
		Help: "Patients of whom a notification came and who are not assessed yet.",
	}, func() float64 { return float64(length()) })
}
