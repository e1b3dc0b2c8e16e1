package deploy_test

import (
	"errors"
	"fmt"
	"os"

	corev1 "k8s.io/api/core/v1"
	networkingv1 "k8s.io/api/networking/v1"
	metav1 "k8s.io/apimachinery/pkg/apis/meta/v1"
	"k8s.io/apimachinery/pkg/labels"
	"k8s.io/apimachinery/pkg/util/intstr"
)

var hospital = []overlayRule{
	{
		name:   "the autoscaler alone decides the replicas",
		source: "Kubernetes, migrating Deployments to horizontal autoscaling: a number would be applied again and again",
		holds: func(r *rendered) error {
			if r.deployment.Spec.Replicas != nil || len(r.scalers) != 1 {
				return errors.New("want an autoscaler, and no replicas in the Deployment")
			}
			s := r.scalers[0].Spec
			return errors.Join(
				equal("target", s.ScaleTargetRef.APIVersion+" "+s.ScaleTargetRef.Kind+" "+s.ScaleTargetRef.Name, "apps/v1 Deployment "+r.deployment.Name),
				equal("minReplicas", deref(s.MinReplicas), 3),
				equal("room above", s.MaxReplicas > deref(s.MinReplicas), true),
			)
		},
		spoil: func(r *rendered) { r.deployment.Spec.Replicas = new(int32) },
	},
	{
		name:   "what the autoscaler measures is requested",
		source: "utilisation is a share of the request",
		holds: func(r *rendered) error {
			metric := deref(r.scalers[0].Spec.Metrics[0].Resource)
			if _, ok := container(r.manifests).Resources.Requests[metric.Name]; !ok || metric.Target.AverageUtilization == nil {
				return fmt.Errorf("the container requests no %s", metric.Name)
			}
			return nil
		},
		spoil: func(r *rendered) { delete(container(r.manifests).Resources.Requests, corev1.ResourceCPU) },
	},
	{
		name:   "the Pods of a version spread over machines and zones",
		source: "Kubernetes, topology spread constraints",
		holds: func(r *rendered) error {
			spread := r.deployment.Spec.Template.Spec.TopologySpreadConstraints
			if len(spread) != 2 {
				return fmt.Errorf("%d constraints, want 2", len(spread))
			}
			for _, c := range spread {
				if err := selects(r.manifests, c.LabelSelector); err != nil {
					return err
				}
			}
			return errors.Join(
				equal("first key", spread[0].TopologyKey, "kubernetes.io/hostname"),
				equal("machines", spread[0].WhenUnsatisfiable, corev1.DoNotSchedule),
				equal("drained machines", deref(spread[0].NodeTaintsPolicy), corev1.NodeInclusionPolicyHonor),
				equal("second key", spread[1].TopologyKey, "topology.kubernetes.io/zone"),
				equal("zones", spread[1].WhenUnsatisfiable, corev1.ScheduleAnyway),
			)
		},
		spoil: func(r *rendered) { r.deployment.Spec.Template.Spec.TopologySpreadConstraints[0].LabelSelector = nil },
	},
	{
		name:   "metrics are scraped from the admin Service",
		source: "the alerts select the job evenreach",
		holds: func(r *rendered) error {
			if len(r.monitors) != 1 || len(r.rules) != 1 || len(r.rules[0].Spec.Groups) == 0 {
				return errors.New("want a ServiceMonitor and a PrometheusRule")
			}
			m, admin := r.monitors[0].Spec, r.services["evenreach-admin"]
			return errors.Join(
				equal("job", admin.Labels[m.JobLabel], "evenreach"),
				chooses(m.Selector, admin.Labels, true),
				chooses(m.Selector, r.services["evenreach"].Labels, false),
				equal("port", m.Endpoints[0].Port, admin.Spec.Ports[0].Name),
				equal("path", m.Endpoints[0].Path, "/metrics"),
			)
		},
		spoil: func(r *rendered) {
			delete(r.monitors[0].Spec.Selector.MatchLabels, "app.kubernetes.io/component")
		},
	},
	{
		name:   "a scraper of native histograms keeps the classic buckets",
		source: "the alerts read them",
		holds: func(r *rendered) error {
			if len(r.monitors) != 1 {
				return errors.New("want a ServiceMonitor")
			}
			return equal("scrapeClassicHistograms", r.monitors[0].Spec.Classic, true)
		},
		spoil: func(r *rendered) { r.monitors[0].Spec.Classic = false },
	},
	{
		name:   "the dashboard is the one that is tested",
		source: "deploy/monitoring tests dashboard.json",
		holds: func(r *rendered) error {
			c := deref(r.config("evenreach-dashboard"))
			content, err := os.ReadFile("monitoring/dashboard.json")
			return errors.Join(err,
				equal("dashboard", c.Data["evenreach.json"] == string(content), true),
				equal("label", c.Labels["grafana_dashboard"], "1"),
			)
		},
		spoil: func(r *rendered) { clear(r.config("evenreach-dashboard").Labels) },
	},
}

func portsOf(ports []networkingv1.NetworkPolicyPort) (list []string) {
	for _, p := range ports {
		list = append(list, string(deref(p.Protocol))+" "+deref(p.Port).StrVal+number(deref(p.Port)))
	}
	return list
}

// number is a port's number, empty for a name.
func number(port intstr.IntOrString) string {
	if port.Type == intstr.String {
		return ""
	}
	return port.String()
}

// chooses wants the selector to match the labels, or not to.
func chooses(selector metav1.LabelSelector, has map[string]string, want bool) error {
	s, err := metav1.LabelSelectorAsSelector(&selector)
	if err != nil {
		return err
	}
	return equal(fmt.Sprintf("%s matches %v", s, has), s.Matches(labels.Set(has)), want)
}
