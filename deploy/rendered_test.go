package deploy_test

import (
	"path"
	"testing"

	autoscalingv2 "k8s.io/api/autoscaling/v2"
	corev1 "k8s.io/api/core/v1"
	networkingv1 "k8s.io/api/networking/v1"
	metav1 "k8s.io/apimachinery/pkg/apis/meta/v1"
	"sigs.k8s.io/kustomize/api/krusty"
	"sigs.k8s.io/kustomize/kyaml/filesys"
	"sigs.k8s.io/yaml"
)

// rendered is what an overlay deploys: the base, and what only overlays have.
type rendered struct {
	*manifests
	namespaces []*corev1.Namespace
	configs    []*corev1.ConfigMap
	scalers    []*autoscalingv2.HorizontalPodAutoscaler
	policies   []*networkingv1.NetworkPolicy
	monitors   []*serviceMonitor
	rules      []*prometheusRule
}

// serviceMonitor is the part of the operator's resource that is used here.
// Decoding is strict, so that a misspelt field is found.
//
// Source: monitoring.coreos.com/v1, from memory.
type serviceMonitor struct {
	metav1.TypeMeta   `json:",inline"`
	metav1.ObjectMeta `json:"metadata"`
	Spec              struct {
		JobLabel  string               `json:"jobLabel"`
		Classic   bool                 `json:"scrapeClassicHistograms"`
		Selector  metav1.LabelSelector `json:"selector"`
		Endpoints []struct {
			Port     string `json:"port"`
			Path     string `json:"path"`
			Interval string `json:"interval"`
		} `json:"endpoints"`
	} `json:"spec"`
}

// prometheusRule is the envelope of the alerts, which deploy/monitoring tests.
type prometheusRule struct {
	metav1.TypeMeta   `json:",inline"`
	metav1.ObjectMeta `json:"metadata"`
	Spec              struct {
		Groups []any `json:"groups"`
	} `json:"spec"`
}

// render builds an overlay as kubectl does. Each call builds anew, so a caller
// may change what it gets.
func render(t *testing.T, overlay string) *rendered {
	t.Helper()
	return renderFolder(t, path.Join("kubernetes/overlays", overlay))
}

func renderFolder(t *testing.T, folder string) *rendered {
	t.Helper()
	built, err := krusty.MakeKustomizer(krusty.MakeDefaultOptions()).Run(filesys.MakeFsOnDisk(), folder)
	if err != nil {
		t.Fatal(err)
	}
	r := &rendered{manifests: &manifests{services: map[string]*corev1.Service{}}}
	for _, resource := range built.Resources() {
		if err := r.add([]byte(resource.MustYaml())); err != nil {
			t.Fatalf("%s: %v", resource.CurId(), err)
		}
	}
	return r
}

// add decodes one manifest strictly by its kind.
func (r *rendered) add(manifest []byte) error {
	var head metav1.TypeMeta
	if err := yaml.Unmarshal(manifest, &head); err != nil {
		return err
	}
	switch head.APIVersion + " " + head.Kind {
	case "v1 Namespace":
		return strictly(manifest, &r.namespaces)
	case "v1 ConfigMap":
		return strictly(manifest, &r.configs)
	case "autoscaling/v2 HorizontalPodAutoscaler":
		return strictly(manifest, &r.scalers)
	case "networking.k8s.io/v1 NetworkPolicy":
		return strictly(manifest, &r.policies)
	case "monitoring.coreos.com/v1 ServiceMonitor":
		return strictly(manifest, &r.monitors)
	case "monitoring.coreos.com/v1 PrometheusRule":
		return strictly(manifest, &r.rules)
	}
	return r.manifests.add(manifest)
}

func strictly[T any](manifest []byte, list *[]*T) error {
	decoded := new(T)
	*list = append(*list, decoded)
	return yaml.UnmarshalStrict(manifest, decoded)
}

func (r *rendered) config(name string) *corev1.ConfigMap {
	for _, c := range r.configs {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// policy is the specification of a network policy; an empty one if there is
// none of the name.
func (r *rendered) policy(name string) networkingv1.NetworkPolicySpec { return *r.policyOf(name) }

func (r *rendered) policyOf(name string) *networkingv1.NetworkPolicySpec {
	for _, p := range r.policies {
		if p.Name == name {
			return &p.Spec
		}
	}
	return new(networkingv1.NetworkPolicySpec)
}
