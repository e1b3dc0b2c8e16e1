package deploy_test

import (
	"errors"
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"

	corev1 "k8s.io/api/core/v1"
	metav1 "k8s.io/apimachinery/pkg/apis/meta/v1"
	"k8s.io/apimachinery/pkg/labels"
	"k8s.io/apimachinery/pkg/util/intstr"
)

// runtimeVariables are the variables that the Go runtime reads.
var runtimeVariables = []string{"GODEBUG", "GOGC", "GOMAXPROCS", "GOMEMLIMIT", "GOTRACEBACK"}

func knownVariables(env []corev1.EnvVar) error {
	for _, v := range env {
		if !strings.HasPrefix(v.Name, "EVENREACH_") && !slices.Contains(runtimeVariables, v.Name) {
			return fmt.Errorf("variable %s: want EVENREACH_... or one of %q", v.Name, runtimeVariables)
		}
	}
	return nil
}

func container(m *manifests) *corev1.Container {
	return &m.deployment.Spec.Template.Spec.Containers[0]
}

// variable finds an environment variable of the container; an empty one if it
// is not set.
func variable(m *manifests, name string) *corev1.EnvVar {
	env := container(m).Env
	i := slices.IndexFunc(env, func(v corev1.EnvVar) bool { return v.Name == name })
	if i < 0 {
		return &corev1.EnvVar{}
	}
	return &env[i]
}

// selects reports whether the selector, which must not be empty, matches the
// labels of the Pods.
func selects(m *manifests, selector *metav1.LabelSelector) error {
	s, err := metav1.LabelSelectorAsSelector(selector)
	if err != nil {
		return err
	}
	podLabels := m.deployment.Spec.Template.Labels
	if s.Empty() || !s.Matches(labels.Set(podLabels)) {
		return fmt.Errorf("selector %q does not select the Pods, labelled %q", s, podLabels)
	}
	return nil
}

// exposes reports whether the container has the port, by name or number.
func exposes(m *manifests, port intstr.IntOrString) error {
	for _, p := range container(m).Ports {
		if port == intstr.FromString(p.Name) || port == intstr.FromInt32(p.ContainerPort) {
			return nil
		}
	}
	return fmt.Errorf("port %s is not a port of the container", port.String())
}

func asks(name string, probe *corev1.Probe, path string) error {
	if probe == nil || probe.HTTPGet == nil {
		return fmt.Errorf("%s: want an HTTP request", name)
	}
	return errors.Join(
		equal(name+" path", probe.HTTPGet.Path, path),
		equal(name+" port", probe.HTTPGet.Port.String(), "admin"),
	)
}

// listens reports whether the variable holds an address on all interfaces with
// the number of the container's named port.
func listens(m *manifests, name, port string) error {
	for _, p := range container(m).Ports {
		if p.Name == port {
			return equal(name, variable(m, name).Value, fmt.Sprintf(":%d", p.ContainerPort))
		}
	}
	return fmt.Errorf("the container has no port %s", port)
}

// asksForIssuers wants the ConfigMap of the site, which must be there.
func asksForIssuers(m *manifests) error {
	from := container(m).EnvFrom
	if len(from) != 1 || from[0].ConfigMapRef == nil {
		return errors.New("the environment is not taken from one ConfigMap")
	}
	return errors.Join(
		equal("ConfigMap", from[0].ConfigMapRef.Name, "evenreach-auth"),
		equal("optional", deref(from[0].ConfigMapRef.Optional), false),
	)
}

// mountsAuthorities wants the file that EVENREACH_AUTH_CA names in a volume.
func mountsAuthorities(m *manifests) error {
	mounts, volumes := container(m).VolumeMounts, m.deployment.Spec.Template.Spec.Volumes
	if len(mounts) != 1 || len(volumes) != 1 || volumes[0].ConfigMap == nil {
		return errors.New("want one volume of a ConfigMap and its mount")
	}
	file := variable(m, "EVENREACH_AUTH_CA").Value
	return errors.Join(
		equal("folder", path.Dir(file), mounts[0].MountPath),
		equal("file", path.Base(file), "ca.crt"),
		equal("volume of the mount", mounts[0].Name, volumes[0].Name),
		equal("ConfigMap", volumes[0].ConfigMap.Name, "evenreach-auth-ca"),
		equal("optional", deref(volumes[0].ConfigMap.Optional), false),
		equal("readOnly", mounts[0].ReadOnly, true),
	)
}

func servicePorts(m *manifests, name string) string {
	s := m.services[name]
	if s == nil {
		return fmt.Sprintf("no such service, only %q", slices.Sorted(maps.Keys(m.services)))
	}
	var ports []string
	for _, p := range s.Spec.Ports {
		ports = append(ports, fmt.Sprintf("%s:%d", p.Name, p.Port))
	}
	return strings.Join(ports, " ")
}

func equal[T comparable](what string, got, want T) error {
	if got != want {
		return fmt.Errorf("%s = %v, want %v", what, got, want)
	}
	return nil
}

// isFalse wants an explicit false: left out, Kubernetes takes it as true.
func isFalse(what string, got *bool) error {
	if got == nil || *got {
		return fmt.Errorf("%s is not false", what)
	}
	return nil
}

// deref returns what p points to, or the zero value if it points to nothing.
func deref[T any](p *T) T {
	if p == nil {
		return *new(T)
	}
	return *p
}
