package deploy_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	appsv1 "k8s.io/api/apps/v1"
	corev1 "k8s.io/api/core/v1"
	policyv1 "k8s.io/api/policy/v1"
	"sigs.k8s.io/yaml"
)

const (
	baseDir     = "kubernetes/base"
	protocolDir = "kubernetes/components/clinic-protocol"
	tlsDir      = "kubernetes/components/tls"
)

// manifests is what the base deploys.
type manifests struct {
	deployment *appsv1.Deployment
	budget     *policyv1.PodDisruptionBudget
	account    *corev1.ServiceAccount
	services   map[string]*corev1.Service // by name
}

// kustomization is the part of a kustomization file that names other files.
type kustomization struct {
	Resources []string `json:"resources"`
	Patches   []struct {
		Path string `json:"path"`
	} `json:"patches"`
}

// files lists the files that the kustomization of dir names.
func files(t *testing.T, dir string) []string {
	t.Helper()
	var k kustomization
	if err := yaml.Unmarshal(read(t, dir, "kustomization.yaml"), &k); err != nil {
		t.Fatalf("%s/kustomization.yaml: %v", dir, err)
	}
	named := slices.Clone(k.Resources)
	for _, p := range k.Patches {
		named = append(named, p.Path)
	}
	return named
}

// loadBase decodes every resource of the base. Each call decodes anew, so a
// caller may change what it gets.
func loadBase(t *testing.T) *manifests {
	t.Helper()
	m := &manifests{services: map[string]*corev1.Service{}}
	for _, name := range files(t, baseDir) {
		if err := m.add(read(t, baseDir, name)); err != nil {
			t.Fatalf("%s/%s: %v", baseDir, name, err)
		}
	}
	if m.deployment == nil || m.budget == nil || m.account == nil || len(m.services) != 2 {
		t.Fatalf("%s: want a Deployment, a PodDisruptionBudget, a ServiceAccount and two Services", baseDir)
	}
	return m
}

// loadPatch decodes the patch of a component.
func loadPatch(t *testing.T, dir string) *appsv1.Deployment {
	t.Helper()
	m := &manifests{}
	if err := m.add(read(t, dir, "deployment.yaml")); err != nil {
		t.Fatalf("%s/deployment.yaml: %v", dir, err)
	}
	return m.deployment
}

// add decodes one manifest strictly by its kind: an unknown or repeated field
// is an error, as is a kind that nothing here checks.
func (m *manifests) add(manifest []byte) error {
	var head struct {
		APIVersion string `json:"apiVersion"`
		Kind       string `json:"kind"`
	}
	if err := yaml.Unmarshal(manifest, &head); err != nil {
		return err
	}
	switch head.APIVersion + " " + head.Kind {
	case "apps/v1 Deployment":
		m.deployment = new(appsv1.Deployment)
		return yaml.UnmarshalStrict(manifest, m.deployment)
	case "policy/v1 PodDisruptionBudget":
		m.budget = new(policyv1.PodDisruptionBudget)
		return yaml.UnmarshalStrict(manifest, m.budget)
	case "v1 ServiceAccount":
		m.account = new(corev1.ServiceAccount)
		return yaml.UnmarshalStrict(manifest, m.account)
	case "v1 Service":
		service := new(corev1.Service)
		if err := yaml.UnmarshalStrict(manifest, service); err != nil {
			return err
		}
		m.services[service.Name] = service
		return nil
	default:
		return fmt.Errorf("no check knows %s %s", head.APIVersion, head.Kind)
	}
}

func read(t *testing.T, elem ...string) []byte {
	t.Helper()
	content, err := os.ReadFile(filepath.Join(elem...))
	if err != nil {
		t.Fatal(err)
	}
	return content
}

func TestKustomizationNamesEveryFile(t *testing.T) {
	for _, dir := range []string{baseDir, protocolDir, tlsDir} {
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		var present []string
		for _, e := range entries {
			if e.Name() != "kustomization.yaml" {
				present = append(present, e.Name())
			}
		}
		named := files(t, dir)
		slices.Sort(named)
		if len(named) == 0 || !slices.Equal(named, present) {
			t.Errorf("%s: kustomization names %q, the folder holds %q", dir, named, present)
		}
	}
}

func TestDecodingIsStrict(t *testing.T) {
	tests := []struct{ name, manifest string }{
		{"misspelt field", "apiVersion: apps/v1\nkind: Deployment\nspec: {replica: 2}\n"},
		{"repeated field", "apiVersion: v1\nkind: Service\nspec: {type: ClusterIP, type: NodePort}\n"},
		{"field of the wrong type", "apiVersion: apps/v1\nkind: Deployment\nspec: {replicas: two}\n"},
		{"field at the wrong level", "apiVersion: policy/v1\nkind: PodDisruptionBudget\nmaxUnavailable: 1\n"},
		{"kind that nothing checks", "apiVersion: v1\nkind: Pod\n"},
		{"withdrawn API version", "apiVersion: policy/v1beta1\nkind: PodDisruptionBudget\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := &manifests{services: map[string]*corev1.Service{}}
			if err := m.add([]byte(tt.manifest)); err == nil {
				t.Errorf("add(%q) succeeded, want an error", tt.manifest)
			}
		})
	}
}
