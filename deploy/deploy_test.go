package deploy_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	corev1 "k8s.io/api/core/v1"
	metav1 "k8s.io/apimachinery/pkg/apis/meta/v1"
	"k8s.io/apimachinery/pkg/util/intstr"
)

// rule is a property of the base. spoil breaks the property and nothing else,
// which shows that holds can fail.
type rule struct {
	name   string
	source string
	holds  func(*manifests) error
	spoil  func(*manifests)
}

func TestBase(t *testing.T) {
	for _, r := range slices.Concat(availabilityRules, networkRules, configurationRules, isolationRules) {
		t.Run(r.name, func(t *testing.T) {
			if err := r.holds(loadBase(t)); err != nil {
				t.Errorf("%v (%s)", err, r.source)
			}
			spoilt := loadBase(t)
			r.spoil(spoilt)
			if r.holds(spoilt) == nil {
				t.Errorf("the rule also holds when it is broken (%s)", r.source)
			}
		})
	}
}

var availabilityRules = []rule{
	{
		name:   "two replicas",
		source: "one must serve while the other is evicted",
		holds: func(m *manifests) error {
			return equal("replicas", deref(m.deployment.Spec.Replicas), 2)
		},
		spoil: func(m *manifests) { *m.deployment.Spec.Replicas = 1 },
	},
	{
		name:   "an update starts a new Pod before it stops an old one",
		source: "Kubernetes, Deployment rolling update",
		holds: func(m *manifests) error {
			update := deref(m.deployment.Spec.Strategy.RollingUpdate)
			return errors.Join(
				equal("maxUnavailable", update.MaxUnavailable.String(), "0"),
				equal("maxSurge", update.MaxSurge.String(), "1"),
			)
		},
		spoil: func(m *manifests) {
			one := intstr.FromInt32(1)
			m.deployment.Spec.Strategy.RollingUpdate.MaxUnavailable = &one
		},
	},
	{
		name:   "the budget selects the Pods and lets one go",
		source: "Kubernetes, PodDisruptionBudget",
		holds: func(m *manifests) error {
			return errors.Join(
				equal("maxUnavailable", m.budget.Spec.MaxUnavailable.String(), "1"),
				selects(m, m.budget.Spec.Selector),
			)
		},
		spoil: func(m *manifests) { m.budget.Spec.Selector.MatchLabels["extra"] = "label" },
	},
	{
		name:   "the Deployment selects its own Pods",
		source: "Kubernetes refuses it otherwise",
		holds:  func(m *manifests) error { return selects(m, m.deployment.Spec.Selector) },
		spoil:  func(m *manifests) { clear(m.deployment.Spec.Template.Labels) },
	},
	{
		name:   "the kubelet waits longer than the drain",
		source: "SIGTERM to SIGKILL is the grace period; 10 s to spare for the loss of readiness to spread",
		holds: func(m *manifests) error {
			drain, err := time.ParseDuration(variable(m, "EVENREACH_DRAIN_TIMEOUT").Value)
			if err != nil {
				return err
			}
			grace := time.Duration(deref(m.deployment.Spec.Template.Spec.TerminationGracePeriodSeconds)) * time.Second
			if grace < drain+10*time.Second {
				return fmt.Errorf("grace period %v, drain %v", grace, drain)
			}
			return nil
		},
		spoil: func(m *manifests) { *m.deployment.Spec.Template.Spec.TerminationGracePeriodSeconds = 20 },
	},
}

var networkRules = []rule{
	{
		name:   "each probe asks its path on the admin port",
		source: "liveness must not fail while draining, or the kubelet kills a Pod that finishes its work",
		holds: func(m *manifests) error {
			c := container(m)
			return errors.Join(
				asks("startupProbe", c.StartupProbe, "/livez"),
				asks("readinessProbe", c.ReadinessProbe, "/readyz"),
				asks("livenessProbe", c.LivenessProbe, "/livez"),
			)
		},
		spoil: func(m *manifests) { container(m).LivenessProbe.HTTPGet.Path = "/readyz" },
	},
	{
		name:   "each probe's port is a port of the container",
		source: "a named port that does not exist fails the probe",
		holds: func(m *manifests) error {
			c := container(m)
			var errs []error
			for _, probe := range []*corev1.Probe{c.StartupProbe, c.ReadinessProbe, c.LivenessProbe} {
				errs = append(errs, exposes(m, deref(deref(probe).HTTPGet).Port))
			}
			return errors.Join(errs...)
		},
		spoil: func(m *manifests) { container(m).Ports = nil },
	},
	{
		name:   "each Service selects the Pods and leads to ports of the container",
		source: "a Service that selects nothing is accepted and silent",
		holds: func(m *manifests) error {
			var errs []error
			for _, s := range m.services {
				errs = append(errs, selects(m, &metav1.LabelSelector{MatchLabels: s.Spec.Selector}))
				for _, p := range s.Spec.Ports {
					errs = append(errs, exposes(m, p.TargetPort))
				}
			}
			return errors.Join(errs...)
		},
		spoil: func(m *manifests) { m.services["evenreach"].Spec.Ports[0].TargetPort = intstr.FromString("rpc") },
	},
	{
		name:   "callers and the metrics scraper have Services of their own",
		source: "metrics and probes are not for callers",
		holds: func(m *manifests) error {
			return errors.Join(
				equal("ports of evenreach", servicePorts(m, "evenreach"), "grpc:9090 http:8080"),
				equal("ports of evenreach-admin", servicePorts(m, "evenreach-admin"), "admin:9464"),
			)
		},
		spoil: func(m *manifests) {
			public := m.services["evenreach"]
			public.Spec.Ports = append(public.Spec.Ports, m.services["evenreach-admin"].Spec.Ports...)
		},
	},
	{
		name:   "the Services stay inside the cluster",
		source: "what leaves the cluster, and under which certificate, is the site's decision",
		holds: func(m *manifests) error {
			for name, s := range m.services {
				if s.Spec.Type != "" && s.Spec.Type != corev1.ServiceTypeClusterIP {
					return fmt.Errorf("service %s: type %s", name, s.Spec.Type)
				}
			}
			return nil
		},
		spoil: func(m *manifests) { m.services["evenreach"].Spec.Type = corev1.ServiceTypeNodePort },
	},
}

var configurationRules = []rule{
	{
		name:   "variables configure Evenreach or the Go runtime",
		source: "a misspelt variable would be ignored in silence",
		holds:  func(m *manifests) error { return knownVariables(container(m).Env) },
		spoil: func(m *manifests) {
			container(m).Env = append(container(m).Env, corev1.EnvVar{Name: "EVENRAECH_LOG_LEVEL", Value: "debug"})
		},
	},
	{
		name:   "each address listens on the port that the container names",
		source: "Services and probes find the process by these names",
		holds: func(m *manifests) error {
			return errors.Join(
				listens(m, "EVENREACH_GRPC_ADDRESS", "grpc"),
				listens(m, "EVENREACH_HTTP_ADDRESS", "http"),
				listens(m, "EVENREACH_ADMIN_ADDRESS", "admin"),
			)
		},
		spoil: func(m *manifests) { container(m).Ports[0].ContainerPort = 9091 },
	},
	{
		name:   "the Pod does not start before the site says who is let in",
		source: "authentication is on by default",
		holds:  func(m *manifests) error { return errors.Join(asksForIssuers(m), mountsAuthorities(m)) },
		spoil:  func(m *manifests) { container(m).EnvFrom[0].ConfigMapRef.Optional = new(true) },
	},
	{
		name:   "nothing switches authentication off",
		source: "authentication is on by default",
		holds: func(m *manifests) error {
			return equal("EVENREACH_INSECURE_NO_AUTH", variable(m, "EVENREACH_INSECURE_NO_AUTH").Value, "")
		},
		spoil: func(m *manifests) {
			container(m).Env = append(container(m).Env, corev1.EnvVar{Name: "EVENREACH_INSECURE_NO_AUTH", Value: "true"})
		},
	},
	{
		name:   "no Service of the namespace writes into the environment",
		source: "Kubernetes, service links: the Service evenreach would set EVENREACH_PORT",
		holds: func(m *manifests) error {
			return isFalse("enableServiceLinks", m.deployment.Spec.Template.Spec.EnableServiceLinks)
		},
		spoil: func(m *manifests) { m.deployment.Spec.Template.Spec.EnableServiceLinks = nil },
	},
	{
		name:   "the garbage collector's limit follows the memory request",
		source: "Kubernetes evicts Pods above their request first when a node runs short",
		holds: func(m *manifests) error {
			limit := variable(m, "GOMEMLIMIT").ValueFrom
			if limit == nil || limit.ResourceFieldRef == nil {
				return errors.New("GOMEMLIMIT is not taken from a resource")
			}
			return equal("GOMEMLIMIT", limit.ResourceFieldRef.Resource, "requests.memory")
		},
		spoil: func(m *manifests) { *variable(m, "GOMEMLIMIT") = corev1.EnvVar{Name: "GOMEMLIMIT", Value: "1GiB"} },
	},
	{
		name:   "memory has headroom above the garbage collector's limit",
		source: "the Go guide to the garbage collector asks for 5-10 % at least; a burst of allocation overshoots further",
		holds: func(m *manifests) error {
			r := container(m).Resources
			request, limit := r.Requests.Memory().Value(), r.Limits.Memory().Value()
			if request == 0 || limit*4 < request*5 {
				return fmt.Errorf("memory request %d, limit %d", request, limit)
			}
			return nil
		},
		spoil: func(m *manifests) {
			r := container(m).Resources
			r.Limits[corev1.ResourceMemory] = r.Requests[corev1.ResourceMemory]
		},
	},
	{
		name:   "processor time is requested and not limited",
		source: "GOMAXPROCS is left to the runtime, and a limit throttles a request in the middle",
		holds: func(m *manifests) error {
			r := container(m).Resources
			if r.Requests.Cpu().IsZero() || !r.Limits.Cpu().IsZero() {
				return fmt.Errorf("cpu request %v, limit %v", r.Requests.Cpu(), r.Limits.Cpu())
			}
			return nil
		},
		spoil: func(m *manifests) { delete(container(m).Resources.Requests, corev1.ResourceCPU) },
	},
}

var isolationRules = []rule{
	{
		name:   "the root file system is read-only",
		source: "not asked by the restricted profile; Evenreach writes nothing to disk",
		holds: func(m *manifests) error {
			return equal("readOnlyRootFilesystem", deref(deref(container(m).SecurityContext).ReadOnlyRootFilesystem), true)
		},
		spoil: func(m *manifests) { *container(m).SecurityContext.ReadOnlyRootFilesystem = false },
	},
	{
		name:   "no token of the Kubernetes API is mounted",
		source: "Evenreach never speaks to the Kubernetes API",
		holds: func(m *manifests) error {
			pod := m.deployment.Spec.Template.Spec
			return errors.Join(
				equal("serviceAccountName", pod.ServiceAccountName, m.account.Name),
				isFalse("Pod automountServiceAccountToken", pod.AutomountServiceAccountToken),
				isFalse("ServiceAccount automountServiceAccountToken", m.account.AutomountServiceAccountToken),
			)
		},
		spoil: func(m *manifests) { m.account.AutomountServiceAccountToken = nil },
	},
	{
		name:   "nothing names a namespace",
		source: "the site chooses it in its overlay",
		holds: func(m *manifests) error {
			named := []string{m.deployment.Namespace, m.budget.Namespace, m.account.Namespace}
			for _, s := range m.services {
				named = append(named, s.Namespace)
			}
			return equal("namespaces", strings.Join(named, ""), "")
		},
		spoil: func(m *manifests) { m.account.Namespace = "default" },
	},
}
