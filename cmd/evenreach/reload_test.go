package main

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"evenreach.example/internal/program"
)

// reloadedAt waits until the metrics say of a kind of configuration whether its last reload was successful, and returns
// when they say that what is in use was read.
func (p *process) reloadedAt(kind string, successful bool) (at string) {
	p.t.Helper()
	want := "evenreach_config_last_reload_successful{" + kind + "} 0\n"
	if successful {
		want = "evenreach_config_last_reload_successful{" + kind + "} 1\n"
	}
	p.until("/metrics", func(status int, body string) bool {
		_, after, found := strings.Cut(body, "evenreach_config_last_reload_success_timestamp_seconds{"+kind+"} ")
		at, _, _ = strings.Cut(after, "\n")
		return found && strings.Contains(body, want)
	})
	return at
}

// A changed protocol or code map is taken up while requests are answered, by a signal or
// because the file changed; if one of both is wrong, both stay.
func TestProtocolAndCodeMapAreReplaced(t *testing.T) {
	folder := t.TempDir()
	protocol, codes := filepath.Join(folder, "protocol.yaml"), filepath.Join(folder, "codemap.json")
	write := func(file, text string) {
		t.Helper()
		// By another name first, as Kubernetes does, so that no half of it is read.
		if err := os.WriteFile(file+".new", []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(file+".new", file); err != nil {
			t.Fatal(err)
		}
	}
	version := func(v, even string) string {
		return fmt.Sprintf("id: harbour-clinic\nversion: %q\nsymmetry:\n  even: {comparison: \">=\", value: %s, unit: \"%%\", source: invented}\n", v, even)
	}
	good, err := os.ReadFile("../../testdata/messages/local-codes-in-pounds/codemap.json")
	if err != nil {
		t.Fatal(err)
	}
	write(protocol, version("1", "92"))
	write(codes, string(good))
	p := launch(t, "--protocol="+protocol, "--code-map="+codes, "--drain-delay=0s")
	decides := func(v string) func(int, string) bool {
		return func(status int, body string) bool {
			return status == http.StatusOK && strings.Count(body, "evenreach_protocol_info{") == 2 && strings.Contains(body, `id="harbour-clinic",version="`+v+`"} 1`)
		}
	}
	p.until("/metrics", decides("1"))

	first := p.reloadedAt(`kind="protocol"`, true)
	write(protocol, version("2", "93"))
	write(codes, "{")
	p.waitFor("protocol, code map and tenants not replaced") // by itself, for the files changed
	p.until("/metrics", decides("1"))
	if at := p.reloadedAt(`kind="protocol"`, false); at != first {
		t.Errorf("what goes on was read at %s, want %s as before", at, first)
	}

	write(codes, string(good))
	if err := syscall.Kill(os.Getpid(), syscall.SIGHUP); err != nil {
		t.Fatal(err)
	}
	p.waitFor("protocol, code map and tenants read")
	p.until("/metrics", decides("2"))
	if at := p.reloadedAt(`kind="protocol"`, true); at <= first {
		t.Errorf("the mended files were read at %s, want later than %s", at, first)
	}

	write(protocol, version("3", "0"))
	refused := p.waitFor("protocol, code map and tenants not replaced")
	if !strings.Contains(refused, "symmetry.even") || !strings.Contains(refused, "--protocol (EVENREACH_PROTOCOL)") {
		t.Errorf("the log does not say what is wrong: %s", refused)
	}
	p.until("/metrics", func(status int, body string) bool {
		return decides("2")(status, body) && strings.Contains(body, `evenreach_reloads_total{result="ok"} 1`) && strings.Contains(body, `evenreach_reloads_total{result="refused"} 2`)
	})
	p.terminate()
	if code := <-p.exit; code != program.OK {
		t.Errorf("exit code %d, want 0", code)
	}
}
