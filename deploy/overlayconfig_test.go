package deploy_test

import (
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"maps"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/config"
	"evenreach.example/internal/flags"
)

// The configuration that a Pod gets is one that the program serves. The files
// it names are the site's; but for the certificate, for which another one stands in,
// the same values are read as if these were not set.
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
	if variable(r.manifests, "EVENREACH_TLS_CERT").Value != "" {
		certificate, key := pair(t)
		t.Setenv("EVENREACH_TLS_CERT", certificate)
		t.Setenv("EVENREACH_TLS_KEY", key)
	}
	var serve config.Serve
	if err := flags.Of(&serve).Parse(nil); err != nil {
		t.Fatal(err)
	}
	if _, err := serve.Resolve(); err != nil {
		t.Error(err)
	}
}

// pair writes a certificate and its key, and returns the files.
func pair(t *testing.T) (certificate, key string) {
	t.Helper()
	signer := authtest.P256()
	template := &x509.Certificate{SerialNumber: big.NewInt(1), NotAfter: time.Now().Add(time.Hour)}
	signed, err := x509.CreateCertificate(rand.Reader, template, template, signer.Public(), signer)
	if err != nil {
		t.Fatal(err)
	}
	secret, err := x509.MarshalPKCS8PrivateKey(signer)
	if err != nil {
		t.Fatal(err)
	}
	certificate, key = filepath.Join(t.TempDir(), "tls.crt"), filepath.Join(t.TempDir(), "tls.key")
	for file, block := range map[string]*pem.Block{certificate: {Type: "CERTIFICATE", Bytes: signed}, key: {Type: "PRIVATE KEY", Bytes: secret}} {
		if err := os.WriteFile(file, pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return certificate, key
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
