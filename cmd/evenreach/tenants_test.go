package main

import (
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/program"
)

const hillIssuer = "https://id.hill.example"

// Two clinics with an issuer each: every caller is answered by its own clinic's protocol; a tenants file that is wrong is
// not taken up, and one that is right is, without a restart.
func TestTenantsAreServedAndReplaced(t *testing.T) {
	issuer := httptest.NewServer(authtest.Serve(authtest.KeySet()))
	t.Cleanup(issuer.Close)
	folder := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		file := filepath.Join(folder, name)
		if err := os.WriteFile(file+".new", []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(file+".new", file); err != nil {
			t.Fatal(err)
		}
	}
	const even = "\nversion: \"1\"\nsymmetry:\n  even: {comparison: \">=\", value: 95, unit: \"%\", source: invented}\n"
	const harbour, hill = "tenants:\n- name: harbour\n  callers: [{issuer: " + issuerName + "}]\n  protocol: harbour.yaml\n", "- name: hill\n  callers: [{issuer: " + hillIssuer + "}]\n  protocol: hill.yaml\n"
	write("harbour.yaml", "id: harbour-clinic"+even)
	write("hill.yaml", "id: hill-clinic"+even)
	write("tenants.yaml", harbour)
	p := begin(t, "--auth-issuers="+issuerName+"="+issuer.URL+","+hillIssuer+"="+issuer.URL, "--auth-audience="+authtest.Audience, "--tenants="+filepath.Join(folder, "tenants.yaml"), "--drain-delay=0s")
	p.serves()
	ask := func(issuer string) (int, string) { return askTenant(t, p, authtest.New(issuer).Sign(t)) }
	wanted := func(issuer string, status int, protocol string) {
		t.Helper()
		if got, body := ask(issuer); got != status || protocol != "" && !strings.Contains(body, protocol) {
			t.Errorf("callers of %s: status %d, want %d by %s: %.300s", issuer, got, status, protocol, body)
		}
	}
	wanted(issuerName, http.StatusOK, "harbour-clinic")
	wanted(hillIssuer, http.StatusForbidden, "belongs to no tenant")

	write("tenants.yaml", harbour+strings.Replace(hill, hillIssuer, issuerName, 1))
	if refused := p.waitFor("protocol, code map and tenants not replaced"); !strings.Contains(refused, "tenants.1.callers.0: a caller may match this rule and tenants.0.callers.0") {
		t.Errorf("the log does not say what is wrong: %s", refused)
	}
	wanted(issuerName, http.StatusOK, "harbour-clinic")
	wanted(hillIssuer, http.StatusForbidden, "")

	write("tenants.yaml", harbour+hill)
	if err := syscall.Kill(os.Getpid(), syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	p.waitFor("protocol, code map and tenants read")
	wanted(issuerName, http.StatusOK, "harbour-clinic")
	wanted(hillIssuer, http.StatusOK, "hill-clinic")
	p.until("/metrics", func(status int, body string) bool {
		return strings.Contains(body, `evenreach_reloads_total{result="refused"} 1`) && strings.Contains(body, `id="hill-clinic",tenant="hill",version="1"} 1`)
	})
	p.terminate()
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
}

// askTenant asks for an assessment by REST.
func askTenant(t *testing.T, p *process, token string) (int, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, "http://"+p.HTTP+"/fhir/$assess-shoulder", strings.NewReader(string(scenario(t))))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/fhir+json")
	r.Header.Set("Authorization", "Bearer "+token)
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil {
		t.Fatal(err)
	}
	return answer.StatusCode, string(body)
}
