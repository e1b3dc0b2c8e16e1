package deploy_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"path"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"helm.sh/helm/v3/pkg/chart/loader"
	"helm.sh/helm/v3/pkg/chartutil"
	"helm.sh/helm/v3/pkg/engine"
	corev1 "k8s.io/api/core/v1"
	"sigs.k8s.io/kustomize/api/krusty"
	"sigs.k8s.io/kustomize/kyaml/filesys"
	"sigs.k8s.io/yaml"
)

// chart renders the chart with values, as helm does, one manifest each.
func chart(t *testing.T, values map[string]any) ([]string, error) {
	t.Helper()
	c, err := loader.LoadDir("helm/evenreach")
	if err != nil {
		t.Fatal(err)
	}
	all, err := chartutil.ToRenderValues(c, values, chartutil.ReleaseOptions{Name: "evenreach", Namespace: "evenreach", IsInstall: true}, nil)
	if err != nil {
		return nil, err
	}
	files, err := engine.Render(c, all)
	if err != nil {
		return nil, err
	}
	var manifests []string
	for _, name := range slices.Sorted(maps.Keys(files)) {
		for manifest := range strings.SplitSeq(files[name], "\n---\n") {
			if strings.TrimSpace(manifest) != "" {
				manifests = append(manifests, manifest)
			}
		}
	}
	return manifests, nil
}

func valuesOf(t *testing.T, name string) map[string]any {
	t.Helper()
	values, err := chartutil.ReadValues(read(t, "helm", name))
	if err != nil {
		t.Fatal(err)
	}
	return values
}

// object is a manifest without what kustomize and helm each do in their own way.
type object = map[string]any

// byName are manifests by kind and name, in a form in which they can be compared.
func byName(t *testing.T, manifests []string) map[string]object {
	t.Helper()
	all := map[string]object{}
	for _, manifest := range manifests {
		var o object
		if err := yaml.Unmarshal([]byte(manifest), &o); err != nil {
			t.Fatalf("%v in\n%s", err, manifest)
		}
		head := o["metadata"].(object)
		delete(head, "namespace") // helm takes it from its command line
		if template, ok := dig(o, "spec", "template").(object); ok {
			delete(template["metadata"].(object), "annotations") // the digest of what is configured, which kustomize has in names
			pod := template["spec"].(object)
			sortNames(pod["volumes"])
			for _, c := range pod["containers"].([]any) {
				sortNames(c.(object)["env"])
				sortNames(c.(object)["volumeMounts"])
			}
		}
		all[fmt.Sprint(o["kind"], " ", head["name"])] = o
	}
	return all
}

func dig(o any, names ...string) any {
	for _, name := range names {
		inner, ok := o.(object)
		if !ok {
			return nil
		}
		o = inner[name]
	}
	return o
}

// sortNames orders a list whose order means nothing.
func sortNames(list any) {
	all, _ := list.([]any)
	slices.SortFunc(all, func(a, b any) int {
		return cmp.Compare(fmt.Sprint(a.(object)["name"]), fmt.Sprint(b.(object)["name"]))
	})
}

// digest is what a generator of kustomize puts behind a name.
var digest = regexp.MustCompile(`\b(evenreach-auth)-[a-z0-9]{10}\b`)

// notOfTheChart are the resources that helm makes by itself, and those of the component
// monitoring, whose files the chart would have to copy.
var notOfTheChart = regexp.MustCompile(`^(Namespace|ServiceMonitor|PrometheusRule|ConfigMap evenreach-dashboard)\b`)

func TestChartRendersWhatTheOverlaysDo(t *testing.T) {
	for _, overlay := range []string{"single-clinic", "hospital"} {
		t.Run(overlay, func(t *testing.T) {
			rendersLike(t, path.Join("kubernetes/overlays", overlay), valuesOf(t, overlay+".yaml"))
		})
	}
	t.Run("hospital by requests in flight", func(t *testing.T) {
		values := valuesOf(t, "hospital.yaml")
		values["autoscaling"].(object)["requestsInFlight"] = 32
		rendersLike(t, "kubernetes/examples/queue-autoscaler", values)
	})
	t.Run("hospital with tenants", func(t *testing.T) {
		values := valuesOf(t, "hospital.yaml")
		values["tenants"] = object{"configMap": "evenreach-tenants"}
		rendersLike(t, siteWith(t, "tenants"), values)
	})
}

// rendersLike wants the chart to make of values what kustomize makes of a folder.
func rendersLike(t *testing.T, folder string, values map[string]any) {
	t.Helper()
	built, err := krusty.MakeKustomizer(krusty.MakeDefaultOptions()).Run(filesys.MakeFsOnDisk(), folder)
	if err != nil {
		t.Fatal(err)
	}
	var manifests []string
	for _, r := range built.Resources() {
		manifests = append(manifests, digest.ReplaceAllString(r.MustYaml(), "$1"))
	}
	want := byName(t, manifests)
	maps.DeleteFunc(want, func(name string, _ object) bool { return notOfTheChart.MatchString(name) })
	rendered, err := chart(t, values)
	if err != nil {
		t.Fatal(err)
	}
	got := byName(t, rendered)
	if !slices.Equal(slices.Sorted(maps.Keys(got)), slices.Sorted(maps.Keys(want))) {
		t.Errorf("the chart has %q, want %q", slices.Sorted(maps.Keys(got)), slices.Sorted(maps.Keys(want)))
	}
	for name, o := range want {
		if !reflect.DeepEqual(got[name], o) {
			t.Errorf("%s: the chart has\n%s\nwant\n%s", name, written(t, got[name]), written(t, o))
		}
	}
	got["Deployment evenreach"]["spec"].(object)["minReadySeconds"] = 1.0
	if reflect.DeepEqual(got["Deployment evenreach"], want["Deployment evenreach"]) {
		t.Error("a difference is not noticed")
	}
}

func written(t *testing.T, o object) string {
	t.Helper()
	text, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// What the chart makes of its values without those of an overlay keeps the rules of the base.
func TestChartKeepsTheRulesOfTheBase(t *testing.T) {
	site := map[string]any{"auth": map[string]any{"issuers": "https://id.example=https://id.example/keys", "audience": "https://evenreach.example/fhir"}}
	manifestsOf, err := chart(t, site)
	if err != nil {
		t.Fatal(err)
	}
	r := &rendered{manifests: &manifests{services: map[string]*corev1.Service{}}}
	for _, manifest := range manifestsOf {
		if err := r.add([]byte(manifest)); err != nil {
			t.Fatalf("%v in\n%s", err, manifest)
		}
	}
	for _, rule := range slices.Concat(availabilityRules, networkRules, configurationRules, isolationRules) {
		if rule.name == "the Pod does not start before the site says who is let in" {
			continue // the chart is refused: see below
		}
		if err := rule.holds(r.manifests); err != nil {
			t.Errorf("%s: %v (%s)", rule.name, err, rule.source)
		}
	}
	if result := evaluate(t, r.manifests); !result.Allowed {
		t.Errorf("refused: %s", result.ForbiddenDetail())
	}
	serves(t, r)
}

func TestChartIsRefusedWithoutWhoIsLetIn(t *testing.T) {
	for missing, values := range map[string]map[string]any{
		"auth.issuers":  {"auth": map[string]any{"audience": "https://evenreach.example/fhir"}},
		"auth.audience": {"auth": map[string]any{"issuers": "https://id.example=https://id.example/keys"}},
	} {
		if _, err := chart(t, values); err == nil || !strings.Contains(err.Error(), missing) {
			t.Errorf("without %s: %v, want an error that names it", missing, err)
		}
	}
}
