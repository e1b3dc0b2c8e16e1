package auth

import (
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/prometheus/client_golang/prometheus"

	"evenreach.example/internal/ops"
)

// Who sends one of the secrets of the file as bearer token is let in, and nobody else.
func TestSecretsOfSenders(t *testing.T) {
	first, second := strings.Repeat("a", MinSecret), strings.Repeat("b", MinSecret+1)
	short := strings.Repeat("c", MinSecret-1)
	file := filepath.Join(t.TempDir(), "secrets")
	put(t, file, []byte(first+"\n"+short+"\n\n  "+second+"  \n"))
	tests := []struct {
		name string
		file string
		sent []string
		want Reason
	}{
		{"the first", file, []string{"Bearer " + first}, ""},
		{"the second", file, []string{"bearer " + second}, ""},
		{"another", file, []string{"Bearer " + strings.Repeat("d", MinSecret)}, UnknownSecret},
		{"the beginning of one", file, []string{"Bearer " + second[:MinSecret]}, UnknownSecret},
		{"one that is too short to count", file, []string{"Bearer " + short}, UnknownSecret},
		{"nothing", file, nil, NoToken},
		{"two", file, []string{"Bearer " + first, "Bearer " + second}, NoToken},
		{"by another scheme", file, []string{"Basic " + first}, NoToken},
		{"one of a file that is gone", filepath.Join(t.TempDir(), "absent"), []string{"Bearer " + first}, KeysNotThere},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := SecretsFile{Path: tt.file, Metrics: ops.NewAuthMetrics(prometheus.NewRegistry())}.Admit(tt.sent)
			var found Reason
			if refused, ok := errors.AsType[*Refusal](err); ok {
				found = refused.Reason
			}
			if (err == nil) != (tt.want == "") || found != tt.want {
				t.Errorf("%v, want %q (by definition)", err, tt.want)
			}
		})
	}
}

// A refusal for a scope names the scope that is wanted.
//
// Source: RFC 6750, section 3, the attribute scope.
func TestChallengesNameTheScope(t *testing.T) {
	for reason, want := range map[Reason]string{Scope: `scope="` + Required + `"`, NoStoring: `scope="` + RequiredToStore + `"`} {
		if got := refuse(reason).Challenge(); !strings.HasSuffix(got, want) {
			t.Errorf("%s: %s, want it to end with %s", reason, got, want)
		}
	}
	if got := refuse(Audience).Challenge(); strings.Contains(got, "scope=") {
		t.Errorf("%s: no scope would help", got)
	}
}
