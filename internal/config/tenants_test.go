package config

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenreach.example/internal/tenant"
)

// clinics writes files into a folder, and returns that of the tenants.
func clinics(t *testing.T, files map[string]string) string {
	t.Helper()
	folder := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(folder, "tenants.yaml")
}

const oneClinic = `
tenants:
  - name: harbour
    callers: [{issuer: https://id.hospital.example}]
    protocol: harbour.yaml
    language: de
  - name: hill
`

func TestTenantsAreRead(t *testing.T) {
	file := clinics(t, map[string]string{"tenants.yaml": oneClinic, "harbour.yaml": ownProtocol})
	server, err := parse(t, nil, "--tenants="+file, "--language=fr").Resolve()
	if err != nil {
		t.Fatal(err)
	}
	harbour, hill := server.Tenants.All["harbour"], server.Tenants.All["hill"]
	if len(harbour.Protocols) != 2 || harbour.Protocols[0].ID != "harbour-clinic" || len(hill.Protocols) != 1 || hill.Protocols[0] != server.Protocols[0] {
		t.Errorf("protocols %v and %v, want the clinic's own, and those of the process", harbour.Protocols, hill.Protocols)
	}
	if harbour.Words.Language() != "de" || hill.Words.Language() != "fr" {
		t.Errorf("languages %q and %q, want de, and that of the process", harbour.Words.Language(), hill.Words.Language())
	}
	if got := server.Tenants.Directory.Of(tenant.Caller{Issuer: "https://id.hospital.example"}); got != "harbour" {
		t.Errorf("the issuer's callers belong to %q", got)
	}
	if got := server.Reloaded(); !slices.Contains(got, file) || !slices.Contains(got, filepath.Join(filepath.Dir(file), "harbour.yaml")) {
		t.Errorf("%q are looked at for changes, want the tenants file and what it names", got)
	}
}

// A change is taken up as a whole, or refused with every problem and its place.
func TestTenantsAreReadAgain(t *testing.T) {
	file := clinics(t, map[string]string{"tenants.yaml": oneClinic, "harbour.yaml": ownProtocol})
	server, err := parse(t, nil, "--tenants="+file).Resolve()
	if err != nil {
		t.Fatal(err)
	}
	protocol := filepath.Join(filepath.Dir(file), "harbour.yaml")
	if err := os.WriteFile(protocol, []byte(strings.Replace(ownProtocol, "95", "0", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := server.Reload(); err == nil || !strings.Contains(err.Error(), "tenants.0: "+protocol+": symmetry.even") {
		t.Errorf("with a wrong protocol %v, want the place in both files", err)
	}
	if err := os.WriteFile(file, []byte("tenants: [{name: hill}]"), 0o600); err != nil {
		t.Fatal(err)
	}
	content, err := server.Reload()
	if err != nil || len(content.Tenants.All) != 1 {
		t.Errorf("after it was mended %v, %v; want one tenant", content.Tenants, err)
	}
}

func TestTenantsRefused(t *testing.T) {
	for name, c := range map[string]struct {
		files map[string]string
		args  []string
		want  []string
	}{
		"no file":                         {nil, nil, []string{"no such file"}},
		"everything at once":              {map[string]string{"tenants.yaml": "tenants:\n  - {name: a, protocol: none.yaml, codeMap: none.json}\n  - {name: b, protocol: none.yaml}"}, nil, []string{"tenants.0: ", "none.json", "tenants.1: "}},
		"what it says and what it names":  {map[string]string{"tenants.yaml": "tenants:\n  - {name: a, language: xx, protocol: none.yaml, callers: [{issuer: https://id.hopsital.example}]}\n  - {name: a}"}, nil, []string{"tenants.0.language: ", "none.yaml", "tenants.1.name: ", "tenants.0.callers.0.issuer: "}},
		"two rules for one":               {map[string]string{"tenants.yaml": "tenants: [{name: a, callers: [{issuer: https://id.hospital.example}]}, {name: b, callers: [{issuer: https://id.hospital.example}]}]"}, nil, []string{"tenants.1.callers.0: a caller may match"}},
		"an issuer that nobody trusts":    {map[string]string{"tenants.yaml": "tenants: [{name: a, callers: [{issuer: https://id.hopsital.example}]}]"}, nil, []string{"tenants.0.callers.0.issuer: found \"https://id.hopsital.example\""}},
		"a certificate that nobody shows": {map[string]string{"tenants.yaml": "tenants: [{name: a, callers: [{certificate: CN=engine}]}]"}, nil, []string{"tenants.0.callers.0.certificate: found no --tls-client-ca"}},
		"a record that is nobody's":       {map[string]string{"tenants.yaml": "tenants: [{name: a}]"}, []string{"--record-base=http://127.0.0.1:1/fhir"}, []string{"record: found none"}},
		"a target that is nobody's":       {map[string]string{"tenants.yaml": "tenants: [{name: a}]"}, []string{"--v2-target=http://127.0.0.1:1/fhir"}, []string{"messages: found none"}},
		"the owner of what is not there":  {map[string]string{"tenants.yaml": "record: a\nmessages: a\ntenants: [{name: a}]"}, nil, []string{"record: found \"a\" without --record-base", "messages: found \"a\" without --v2-target"}},
	} {
		_, err := parse(t, nil, append(c.args, "--tenants="+clinics(t, c.files))...).Resolve()
		if err == nil {
			t.Errorf("%s: accepted", name)
			continue
		}
		for _, part := range append(c.want, "--tenants (EVENREACH_TENANTS)") {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%s: the report does not say %q: %v", name, part, err)
			}
		}
	}
}
