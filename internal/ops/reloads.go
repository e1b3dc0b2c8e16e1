package ops

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// A Reload is what became of configuration whose files may be replaced while the service runs.
type Reload struct {
	// Refused says that something is wrong with the files as they are: what was read before goes on.
	Refused bool
	// Read is when what is in use was read.
	Read time.Time
}

// reloads are the kinds of configuration that is read again, each by its name, which is asked with each scrape.
type reloads map[string]func() Reload

// RegisterReloads registers what became of the last reload of each kind of configuration, by its name.
func RegisterReloads(reg prometheus.Registerer, kinds map[string]func() Reload) {
	reg.MustRegister(reloads(kinds))
}

// The names are those that Prometheus and its Alertmanager have for their own configuration.
var (
	lastReloadSuccessful = prometheus.NewDesc("evenreach_config_last_reload_successful",
		"1 if the files of a kind of configuration were read as they are now, 0 if something is wrong with them, so that what was read before goes on.", []string{"kind"}, nil)
	lastReloadSuccess = prometheus.NewDesc("evenreach_config_last_reload_success_timestamp_seconds",
		"When the configuration in use was read, in Unix time.", []string{"kind"}, nil)
)

// Describe implements prometheus.Collector.
func (reloads) Describe(descs chan<- *prometheus.Desc) {
	descs <- lastReloadSuccessful
	descs <- lastReloadSuccess
}

// Collect implements prometheus.Collector.
func (kinds reloads) Collect(metrics chan<- prometheus.Metric) {
	for kind, ask := range kinds {
		last, successful := ask(), 1.0
		if last.Refused {
			successful = 0
		}
		metrics <- prometheus.MustNewConstMetric(lastReloadSuccessful, prometheus.GaugeValue, successful, kind)
		metrics <- prometheus.MustNewConstMetric(lastReloadSuccess, prometheus.GaugeValue, float64(last.Read.UnixNano())/float64(time.Second), kind)
	}
}
