// Package monitoring_test holds the alerts, the dashboard and the runbook against the
// metrics that the service has. What alerts and panels show is tested by promtool:
// check.sh.
package monitoring_test

import (
	"os"
	"slices"
	"strings"
	"testing"

	"sigs.k8s.io/yaml"
)

// prometheusRule is the operator's resource, as far as it is used.
//
// Source: monitoring.coreos.com/v1, and the rule files of Prometheus, from
// memory.
type prometheusRule struct {
	APIVersion string `json:"apiVersion"`
	Kind       string `json:"kind"`
	Metadata   struct {
		Name   string            `json:"name"`
		Labels map[string]string `json:"labels"`
	} `json:"metadata"`
	Spec struct {
		Groups []struct {
			Name  string  `json:"name"`
			Rules []alert `json:"rules"`
		} `json:"groups"`
	} `json:"spec"`
}

// alert is an alert, or a rule that records a ratio for others to ask for.
type alert struct {
	Record      string            `json:"record"`
	Alert       string            `json:"alert"`
	Expr        string            `json:"expr"`
	For         string            `json:"for"`
	Labels      map[string]string `json:"labels"`
	Annotations map[string]string `json:"annotations"`
}

func alerts(t *testing.T) []alert {
	t.Helper()
	return slices.DeleteFunc(rules(t), func(a alert) bool { return a.Record != "" })
}

func rules(t *testing.T) (all []alert) {
	t.Helper()
	var rule prometheusRule
	if err := yaml.UnmarshalStrict(read(t, "prometheusrule.yaml"), &rule); err != nil {
		t.Fatal(err)
	}
	for _, group := range rule.Spec.Groups {
		all = append(all, group.Rules...)
	}
	if rule.Kind != "PrometheusRule" || len(all) == 0 {
		t.Fatalf("%s with %d alerts, want a PrometheusRule with some", rule.Kind, len(all))
	}
	return all
}

func read(t *testing.T, name string) []byte {
	t.Helper()
	content, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return content
}

func TestAlertsAskForMetricsThatExist(t *testing.T) {
	metrics := recorded(t, live(t))
	for _, a := range rules(t) {
		for _, problem := range check(a.Expr, metrics) {
			t.Errorf("%s%s: %s", a.Record, a.Alert, problem)
		}
	}
}

// recorded adds what rules record to the metrics of the service.
func recorded(t *testing.T, metrics map[string]labels) map[string]labels {
	t.Helper()
	for _, r := range rules(t) {
		if r.Record == "" {
			continue
		}
		if metrics[r.Record] != nil {
			t.Errorf("%s is recorded twice, or is a metric of the service", r.Record)
		}
		metrics[r.Record] = labels{"job": {r.Labels["job"]}, "namespace": nil}
	}
	return metrics
}

// Two ways to page, so that a router can tell them apart; a page says what to
// do.
func TestAlertsAreComplete(t *testing.T) {
	const runbook = "https://evenreach.example/deploy/monitoring/runbook.md#"
	for _, a := range alerts(t) {
		if s := a.Labels["severity"]; s != "critical" && s != "warning" {
			t.Errorf("%s: severity %q, want critical or warning", a.Alert, s)
		}
		if a.Annotations["summary"] == "" {
			t.Errorf("%s: no summary", a.Alert)
		}
		if got, want := a.Annotations["runbook_url"], runbook+strings.ToLower(a.Alert); got != want {
			t.Errorf("%s: runbook_url %q, want %q", a.Alert, got, want)
		}
	}
}

// ruleTests is a file of tests for promtool.
type ruleTests struct {
	Tests []struct {
		Cases []struct {
			Alert string `json:"alertname"`
			Fires []any  `json:"exp_alerts"`
		} `json:"alert_rule_test"`
	} `json:"tests"`
}

func TestEachAlertIsShownToFireAndToStayQuiet(t *testing.T) {
	var file ruleTests
	if err := yaml.Unmarshal(read(t, "alerts_test.yaml"), &file); err != nil {
		t.Fatal(err)
	}
	fires, quiet := map[string]bool{}, map[string]bool{}
	for _, test := range file.Tests {
		for _, c := range test.Cases {
			if len(c.Fires) > 0 {
				fires[c.Alert] = true
			} else {
				quiet[c.Alert] = true
			}
		}
	}
	for _, a := range alerts(t) {
		if !fires[a.Alert] || !quiet[a.Alert] {
			t.Errorf("%s: shown to fire: %v, to stay quiet: %v, want both", a.Alert, fires[a.Alert], quiet[a.Alert])
		}
	}
}
