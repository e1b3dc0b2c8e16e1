package deploy_test

import (
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// withTraces is the hospital's overlay with the component, as a site adds it.
func withTraces(t *testing.T) *rendered {
	t.Helper()
	return withComponent(t, "traces")
}

// withComponent is the hospital's overlay with a component.
func withComponent(t *testing.T, component string) *rendered {
	t.Helper()
	return renderFolder(t, siteWith(t, component))
}

// siteWith is a folder in which a site adds a component to the hospital's overlay.
func siteWith(t *testing.T, component string) string {
	t.Helper()
	site := t.TempDir()
	here, err := filepath.Abs("kubernetes")
	if err != nil {
		t.Fatal(err)
	}
	up, err := filepath.Rel(site, here)
	if err != nil {
		t.Fatal(err)
	}
	text := fmt.Sprintf("apiVersion: kustomize.config.k8s.io/v1beta1\nkind: Kustomization\nnamespace: evenreach\n"+
		"resources: [%[1]s/overlays/hospital]\ncomponents: [%[1]s/components/%[2]s]\n", filepath.ToSlash(up), component)
	if err := os.WriteFile(filepath.Join(site, "kustomization.yaml"), []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return site
}

func TestTraces(t *testing.T) {
	plain, r := render(t, "hospital"), withTraces(t)
	endpoint := variable(r.manifests, "OTEL_EXPORTER_OTLP_ENDPOINT")
	collector, err := url.Parse(endpoint.Value)
	if err != nil {
		t.Fatal(err)
	}
	_, namespace, _ := strings.Cut(collector.Hostname(), ".")
	p := r.policy("evenreach-traces")
	if len(p.Egress) != 1 || len(p.Egress[0].To) != 1 {
		t.Fatal("want one rule for one namespace")
	}
	for _, err := range []error{
		equal("without the component", variable(plain.manifests, endpoint.Name).Value, ""),
		equal("read by the program", readsVariable(endpoint.Name), true),
		equal("environment beside it", len(container(r.manifests).Env), len(container(plain.manifests).Env)+1),
		equal("policies beside it", len(r.policies), len(plain.policies)+1),
		selects(r.manifests, &p.PodSelector),
		// A second policy adds to the first, which stays as it is.
		equal("types", fmt.Sprint(p.PolicyTypes), "[Egress]"),
		equal("port", fmt.Sprint(portsOf(p.Egress[0].Ports)), "[TCP "+collector.Port()+"]"),
		equal("namespace", deref(p.Egress[0].To[0].NamespaceSelector).MatchLabels["kubernetes.io/metadata.name"], namespace),
	} {
		if err != nil {
			t.Error(err)
		}
	}
}

func TestConfigurationWithTracesCanBeServed(t *testing.T) { serves(t, withTraces(t)) }
