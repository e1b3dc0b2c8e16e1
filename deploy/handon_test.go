package deploy_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	autoscalingv2 "k8s.io/api/autoscaling/v2"
)

// The record can be reached where the answers are handed on to, and nothing else.
func TestHandOn(t *testing.T) {
	plain, r := render(t, "hospital"), withComponent(t, "hand-on")
	record, err := url.Parse(variable(r.manifests, "EVENREACH_V2_TARGET").Value)
	if err != nil {
		t.Fatal(err)
	}
	_, namespace, _ := strings.Cut(record.Hostname(), ".")
	p := r.policy("evenreach-hand-on")
	if len(p.Egress) != 1 || len(p.Egress[0].To) != 1 {
		t.Fatal("want one rule for one namespace")
	}
	for _, err := range []error{
		equal("environment beside it", len(container(r.manifests).Env), len(container(plain.manifests).Env)+2),
		equal("policies beside it", len(r.policies), len(plain.policies)+1),
		selects(r.manifests, &p.PodSelector),
		equal("types", fmt.Sprint(p.PolicyTypes), "[Egress]"),
		equal("port", fmt.Sprint(portsOf(p.Egress[0].Ports)), "[TCP "+record.Port()+"]"),
		equal("namespace", deref(p.Egress[0].To[0].NamespaceSelector).MatchLabels["kubernetes.io/metadata.name"], namespace),
	} {
		if err != nil {
			t.Error(err)
		}
	}
	serves(t, r)
}

// The example's autoscaler asks for the metric that the adapter's rule serves.
func TestQueueAutoscaler(t *testing.T) {
	r := renderFolder(t, "kubernetes/examples/queue-autoscaler")
	if len(r.scalers) != 1 || len(r.scalers[0].Spec.Metrics) != 2 {
		t.Fatal("want one autoscaler by two metrics")
	}
	pods := r.scalers[0].Spec.Metrics[1].Pods
	if pods == nil || pods.Target.Type != autoscalingv2.AverageValueMetricType || pods.Target.AverageValue == nil {
		t.Fatalf("metric %+v, want an average over the Pods", r.scalers[0].Spec.Metrics[1])
	}
	adapter := string(read(t, "kubernetes/examples/queue-autoscaler", "adapter.yaml"))
	if !strings.Contains(adapter, "as: "+pods.Metric.Name+"\n") {
		t.Errorf("the adapter serves no %s", pods.Metric.Name)
	}
}
