package deploy_test

import (
	"strings"
	"testing"

	corev1 "k8s.io/api/core/v1"
	"k8s.io/pod-security-admission/api"
	"k8s.io/pod-security-admission/policy"
)

// evaluate applies the restricted Pod Security Standard in its latest version,
// as the admission controller of Kubernetes does, to the Pods of the base.
func evaluate(t *testing.T, m *manifests) policy.AggregateCheckResult {
	t.Helper()
	evaluator, err := policy.NewEvaluator(policy.DefaultChecks(), nil)
	if err != nil {
		t.Fatal(err)
	}
	restricted := api.LevelVersion{Level: api.LevelRestricted, Version: api.LatestVersion()}
	template := &m.deployment.Spec.Template
	return policy.AggregateCheckResults(evaluator.EvaluatePod(restricted, &template.ObjectMeta, &template.Spec))
}

func TestPodsAreRestricted(t *testing.T) {
	if r := evaluate(t, loadBase(t)); !r.Allowed {
		t.Errorf("refused: %s", r.ForbiddenDetail())
	}
}

func TestPodsWithComponentsAreRestricted(t *testing.T) {
	m := loadBase(t)
	pod, c := &m.deployment.Spec.Template.Spec, container(m)
	for _, dir := range []string{protocolDir, tlsDir} {
		patch := loadPatch(t, dir).Spec.Template.Spec
		pod.Volumes = append(pod.Volumes, patch.Volumes...)
		c.Env = append(c.Env, patch.Containers[0].Env...)
		c.VolumeMounts = append(c.VolumeMounts, patch.Containers[0].VolumeMounts...)
	}
	if r := evaluate(t, m); !r.Allowed {
		t.Errorf("refused: %s", r.ForbiddenDetail())
	}
}

// Each case takes away one field that the restricted profile asks for, or adds
// one that it forbids.
// Source: Kubernetes, Pod Security Standards, profiles baseline and restricted.
func TestPodsAreRefusedWithout(t *testing.T) {
	tests := []struct {
		name   string
		spoil  func(*corev1.PodSpec)
		reason string
	}{
		{"Pod security context", func(p *corev1.PodSpec) { p.SecurityContext = nil }, "runAsNonRoot != true"},
		{"container security context", func(p *corev1.PodSpec) { p.Containers[0].SecurityContext = nil }, "allowPrivilegeEscalation != false"},
		{"runAsNonRoot", func(p *corev1.PodSpec) { p.SecurityContext.RunAsNonRoot = nil }, "runAsNonRoot != true"},
		{"a user other than root", func(p *corev1.PodSpec) { p.SecurityContext.RunAsUser = new(int64) }, "runAsUser=0"},
		{"seccomp profile", func(p *corev1.PodSpec) { p.SecurityContext.SeccompProfile = nil }, "seccompProfile"},
		{"seccomp confinement", func(p *corev1.PodSpec) {
			p.SecurityContext.SeccompProfile.Type = corev1.SeccompProfileTypeUnconfined
		}, "seccompProfile"},
		{"allowPrivilegeEscalation false", func(p *corev1.PodSpec) {
			p.Containers[0].SecurityContext.AllowPrivilegeEscalation = nil
		}, "allowPrivilegeEscalation != false"},
		{"dropped capabilities", func(p *corev1.PodSpec) { p.Containers[0].SecurityContext.Capabilities = nil }, "unrestricted capabilities"},
		{"all capabilities dropped", func(p *corev1.PodSpec) {
			p.Containers[0].SecurityContext.Capabilities.Drop = []corev1.Capability{"NET_RAW"}
		}, "unrestricted capabilities"},
		{"a network of its own", func(p *corev1.PodSpec) { p.HostNetwork = true }, "host namespaces"},
		{"volumes inside the cluster", func(p *corev1.PodSpec) {
			p.Volumes = []corev1.Volume{{
				Name:         "host",
				VolumeSource: corev1.VolumeSource{HostPath: &corev1.HostPathVolumeSource{Path: "/"}},
			}}
		}, "hostPath"},
		{"probes of the Pod itself", func(p *corev1.PodSpec) { p.Containers[0].LivenessProbe.HTTPGet.Host = "10.0.0.1" }, "host"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := loadBase(t)
			tt.spoil(&m.deployment.Spec.Template.Spec)
			r := evaluate(t, m)
			if r.Allowed || !strings.Contains(r.ForbiddenDetail(), tt.reason) {
				t.Errorf("allowed %v, reasons %q, want refused for %q", r.Allowed, r.ForbiddenDetail(), tt.reason)
			}
		})
	}
}
