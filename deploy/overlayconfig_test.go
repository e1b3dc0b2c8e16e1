package deploy_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/alecthomas/kong"

	"evenreach.example/internal/config"
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
	parser, err := kong.New(&serve, kong.Exit(func(int) { t.Fatal("the program ended") }))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := parser.Parse(nil); err != nil {
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
		if strings.HasPrefix(name, "EVENREACH_") && !readsVariable(t, name) {
			t.Errorf("the program does not read %s", name)
		}
		if strings.HasPrefix(value, "/") || value == "" {
			delete(env, name)
		}
	}
	return env
}

// readsVariable reports whether a flag of the server has the variable.
func readsVariable(t *testing.T, name string) bool {
	t.Helper()
	parser, err := kong.New(new(config.Serve))
	if err != nil {
		t.Fatal(err)
	}
	return slices.ContainsFunc(parser.Model.AllFlags(true), func(flags []*kong.Flag) bool {
		return slices.ContainsFunc(flags, func(f *kong.Flag) bool { return slices.Contains(f.Envs, name) })
	})
}
