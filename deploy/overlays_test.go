package deploy_test

import (
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"
	"testing"

	networkingv1 "k8s.io/api/networking/v1"
	metav1 "k8s.io/apimachinery/pkg/apis/meta/v1"
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
	{
		name:   "the image has a version",
		source: "Kubernetes, images: without a tag it is latest, which differs from machine to machine",
		holds: func(r *rendered) error {
			name, version, _ := strings.Cut(path.Base(container(r.manifests).Image), ":")
			return errors.Join(equal("image", name, "evenreach"), equal("versioned", version != "" && version != "latest", true))
		},
		spoil: func(r *rendered) { container(r.manifests).Image = "registry.example:5000/evenreach" },
	},
	{
		name:   "nothing goes in or out by default",
		source: "Kubernetes, network policies: default deny all",
		holds: func(r *rendered) error {
			deny := r.policy("default-deny")
			return errors.Join(
				equal("podSelector", deny.PodSelector.String(), (&metav1.LabelSelector{}).String()),
				equal("types", fmt.Sprint(deny.PolicyTypes), "[Ingress Egress]"),
				equal("exceptions", len(deny.Ingress)+len(deny.Egress), 0),
			)
		},
		spoil: func(r *rendered) {
			deny := r.policies[slices.IndexFunc(r.policies, func(p *networkingv1.NetworkPolicy) bool { return p.Name == "default-deny" })]
			deny.Spec.Egress = []networkingv1.NetworkPolicyEgressRule{{}}
		},
	},
	{
		name:   "callers reach the ports of callers, and the scraper its own",
		source: "metrics and probes are not for callers",
		holds: func(r *rendered) error {
			p := r.policy("evenreach")
			errs := []error{selects(r.manifests, &p.PodSelector)}
			var open []string
			for _, rule := range p.Ingress {
				if len(rule.From) != 1 || len(deref(rule.From[0].NamespaceSelector).MatchLabels) != 1 {
					return errors.New("want each rule for the namespaces of one label")
				}
				for _, port := range rule.Ports {
					errs = append(errs, exposes(r.manifests, deref(port.Port)))
				}
				open = append(open, fmt.Sprint(rule.From[0].NamespaceSelector.MatchLabels, portsOf(rule.Ports)))
			}
			errs = append(errs, equal("open", strings.Join(open, "; "),
				"map[evenreach.example/caller:true] [TCP grpc TCP http]; map[kubernetes.io/metadata.name:monitoring] [TCP admin]"))
			return errors.Join(errs...)
		},
		spoil: func(r *rendered) { r.policyOf("evenreach").Ingress[0].From = nil },
	},
	{
		name:   "only names and the issuers' keys are asked for",
		source: "nothing else is fetched",
		holds: func(r *rendered) error {
			var open []string
			for _, rule := range r.policy("evenreach").Egress {
				open = append(open, fmt.Sprint(len(rule.To), portsOf(rule.Ports)))
			}
			return equal("egress", strings.Join(open, "; "), "1 [UDP 53 TCP 53]; 0 [TCP 443]")
		},
		spoil: func(r *rendered) { r.policyOf("evenreach").Egress[1].Ports = nil },
	},
	{
		name:   "TLS is served",
		source: "tokens and patient data cross the cluster's network",
		holds: func(r *rendered) error {
			return equal("EVENREACH_TLS_CERT", variable(r.manifests, "EVENREACH_TLS_CERT").Value, "/etc/evenreach-tls/tls.crt")
		},
		spoil: func(r *rendered) { container(r.manifests).Env = nil },
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
