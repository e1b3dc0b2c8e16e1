package config

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenreach.example/internal/audit"
)

func TestAudit(t *testing.T) {
	key, short := write(t, strings.Repeat("k", minKey)), write(t, strings.Repeat("k", minKey-1))
	file := filepath.Join(t.TempDir(), "audit.jsonl")
	if err := os.WriteFile(file, []byte("before\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		name  string
		flags []string
		want  string // in the error; empty for none
	}{
		{"none", nil, ""},
		{"with pseudonyms", []string{"--audit-log=" + file, "--audit-key=" + key}, ""},
		{"in clear", []string{"--audit-log=stdout", "--audit-patient=reference"}, ""},
		{"without patients", []string{"--audit-log=stdout", "--audit-patient=none", "--audit-required"}, ""},
		{"required and nowhere", []string{"--audit-required"}, "--audit-required (EVENREACH_AUDIT_REQUIRED): found no --audit-log"},
		{"pseudonyms without a key", []string{"--audit-log=stdout"}, "--audit-key (EVENREACH_AUDIT_KEY): found none"},
		{"a short key", []string{"--audit-log=stdout", "--audit-key=" + short}, "found 31 bytes; expected 32 at least"},
		{"an absent key", []string{"--audit-log=stdout", "--audit-key=" + short + "x"}, "no such file"},
		{"another way", []string{"--audit-log=stdout", "--audit-patient=name"}, `--audit-patient (EVENREACH_AUDIT_PATIENT): found "name"`},
		{"a folder", []string{"--audit-log=" + t.TempDir(), "--audit-key=" + key}, "--audit-log (EVENREACH_AUDIT_LOG): open "},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := parse(t, nil, tt.flags...).Resolve()
			if (err == nil) != (tt.want == "") || err != nil && !strings.Contains(err.Error(), tt.want) {
				t.Errorf("%v, want %q", err, tt.want)
			}
		})
	}
	server, err := parse(t, nil, "--audit-log="+file, "--audit-key="+key, "--audit-required").Resolve()
	if err != nil {
		t.Fatal(err)
	}
	if c := server.Audit; c.Patients != audit.Pseudonym || !c.Required || string(c.Key) != strings.Repeat("k", minKey) {
		t.Errorf("got %+v, want what was set", c)
	}
	if _, err := server.Audit.To.Write([]byte("after\n")); err != nil {
		t.Fatal(err)
	}
	if text, err := os.ReadFile(file); err != nil || string(text) != "before\nafter\n" {
		t.Errorf("the file has %q, %v: want it appended to", text, err)
	}
}
