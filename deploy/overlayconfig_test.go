package deploy_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/config"
	"evenreach.example/internal/flags"
)

// The configuration that a Pod gets is one that the program serves. The files
// it names are the site's; without them the same values are read as if these
// were not set.
func TestConfigurationOfOverlaysCanBeServed(t *testing.T) {
	for _, overlay := range []string{"single-clinic", "hospital"} {
		t.Run(overlay, func(t *testing.T) { serves(t, render(t, overlay)) })
	}
}

// serves wants the environment of the container to be one that can be served.
func serves(t *testing.T, r *rendered) {
	t.Helper()
	for name, value := range environment(t, r) {
		t.Setenv(name, value)
	}
	var serve config.Serve
	if err := flags.Of(&serve).Parse(nil); err != nil {
		t.Fatal(err)
	}
	if _, err := serve.Resolve(); err != nil {
		t.Error(err)
	}
}

// environment is what the container gets, without the names of files. Every
// variable of ours must be one that the program reads.
func environment(t *testing.T, r *rendered) map[string]string {
	t.Helper()
	env := map[string]string{}
	for _, from := range container(r.manifests).EnvFrom {
		c := r.config(from.ConfigMapRef.Name)
		if c == nil {
			t.Fatalf("no ConfigMap %s", from.ConfigMapRef.Name)
		}
		maps.Copy(env, c.Data)
	}
	for _, v := range container(r.manifests).Env {
		env[v.Name] = v.Value
	}
	for name, value := range env {
		if strings.HasPrefix(name, "EVENREACH_") && !readsVariable(name) {
			t.Errorf("the program does not read %s", name)
		}
		if strings.HasPrefix(value, "/") || value == "" {
			delete(env, name)
		}
	}
	return env
}

// readsVariable reports whether a flag of the server has the variable.
func readsVariable(name string) bool {
	return slices.ContainsFunc(flags.Of(new(config.Serve)).Flags, func(f *flags.Flag) bool {
		return slices.Contains(f.Variables, name)
	})
}
