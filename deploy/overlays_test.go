package deploy_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// overlayRule is a property of an overlay. spoil breaks it and nothing else.
type overlayRule struct {
	name   string
	source string
	holds  func(*rendered) error
	spoil  func(*rendered)
}

func TestOverlays(t *testing.T) {
	overlays := map[string][]overlayRule{
		"single-clinic": append(slices.Clone(everyOverlay), singleClinic...),
		"hospital":      append(slices.Clone(everyOverlay), hospital...),
	}
	for overlay, rules := range overlays {
		for _, r := range rules {
			t.Run(overlay+" "+r.name, func(t *testing.T) {
				if err := r.holds(render(t, overlay)); err != nil {
					t.Errorf("%v (%s)", err, r.source)
				}
				spoilt := render(t, overlay)
				r.spoil(spoilt)
				if r.holds(spoilt) == nil {
					t.Errorf("the rule also holds when it is broken (%s)", r.source)
				}
			})
		}
	}
}

// notOfOverlays are the rules that overlays are there to change: replicas, the
// namespace, and the names that a generator makes.
var notOfOverlays = []string{"two replicas", "nothing names a namespace", "the Pod does not start before the site says who is let in"}

func TestOverlaysKeepTheRulesOfTheBase(t *testing.T) {
	for _, overlay := range []string{"single-clinic", "hospital"} {
		m := render(t, overlay).manifests
		for _, r := range slices.Concat(availabilityRules, networkRules, configurationRules, isolationRules) {
			if slices.Contains(notOfOverlays, r.name) {
				continue
			}
			if err := r.holds(m); err != nil {
				t.Errorf("%s: %s: %v (%s)", overlay, r.name, err, r.source)
			}
		}
	}
}

func TestPodsOfOverlaysAreRestricted(t *testing.T) {
	for _, overlay := range []string{"single-clinic", "hospital"} {
		if r := evaluate(t, render(t, overlay).manifests); !r.Allowed {
			t.Errorf("%s: refused: %s", overlay, r.ForbiddenDetail())
		}
	}
}

var everyOverlay = []overlayRule{
	{
		name:   "the namespace refuses Pods that are not restricted",
		source: "Kubernetes, Pod Security admission",
		holds: func(r *rendered) error {
			if len(r.namespaces) != 1 {
				return fmt.Errorf("%d namespaces, want 1", len(r.namespaces))
			}
			return errors.Join(
				equal("enforce", r.namespaces[0].Labels["pod-security.kubernetes.io/enforce"], "restricted"),
				equal("namespace of the Deployment", r.deployment.Namespace, r.namespaces[0].Name),
			)
		},
		spoil: func(r *rendered) { clear(r.namespaces[0].Labels) },
	},
	{
		name:   "a changed issuer rolls out",
		source: "kustomize puts a digest of the content into the name",
		holds: func(r *rendered) error {
			name := container(r.manifests).EnvFrom[0].ConfigMapRef.Name
			if !strings.HasPrefix(name, "evenreach-auth-") || r.config(name) == nil {
				return fmt.Errorf("the environment is taken from %s, which is not generated here", name)
			}
			return nil
		},
		spoil: func(r *rendered) { container(r.manifests).EnvFrom[0].ConfigMapRef.Name = "evenreach-auth" },
	},
}

var singleClinic = []overlayRule{
	{
		name:   "one replica, which an update replaces without a gap",
		source: "a second Pod on the same machine would not outlive it",
		holds: func(r *rendered) error {
			return errors.Join(
				equal("replicas", deref(r.deployment.Spec.Replicas), 1),
				equal("maxUnavailable", deref(r.deployment.Spec.Strategy.RollingUpdate).MaxUnavailable.String(), "0"),
			)
		},
		spoil: func(r *rendered) { r.deployment.Spec.Replicas = nil },
	},
	{
		name:   "needs nothing that a small cluster lacks",
		source: "the Prometheus operator and a metrics server are extensions",
		holds: func(r *rendered) error {
			return equal("resources of extensions", len(r.monitors)+len(r.rules)+len(r.scalers), 0)
		},
		spoil: func(r *rendered) { r.monitors = append(r.monitors, new(serviceMonitor)) },
	},
}
