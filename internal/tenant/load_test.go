package tenant

import (
	"errors"
	"strings"
	"testing"

	"evenreach.example/internal/shape"
)

const twoClinics = `
default: harbour
messages: harbour
record: hill
tenants:
  - name: harbour
    callers:
      - issuer: https://id.harbour.example
      - {issuer: https://id.region.example, client: harbour-record}
    protocol: harbour.yaml
    codeMap: harbour.json
    language: de
    forceUnit: kgf
    auditLabel: Harbour Clinic
  - name: hill
    callers:
      - {issuer: https://id.region.example, client: hill-record}
`

func TestCallersBelongToTenants(t *testing.T) {
	d, err := Load([]byte(twoClinics))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		caller Caller
		want   string
	}{
		{"an issuer of its own", Caller{Issuer: "https://id.harbour.example", Client: "anything"}, "harbour"},
		{"a client of a shared issuer", Caller{Issuer: "https://id.region.example", Client: "hill-record"}, "hill"},
		{"the same, with a certificate that no rule names", Caller{Issuer: "https://id.region.example", Client: "hill-record", Certificate: "CN=x"}, "hill"},
		{"the other client of it", Caller{Issuer: "https://id.region.example", Client: "harbour-record"}, "harbour"},
		{"a client of no rule", Caller{Issuer: "https://id.region.example", Client: "stranger"}, "harbour"}, // the default
		{"the same client id of another issuer", Caller{Issuer: "https://id.elsewhere.example", Client: "hill-record"}, "harbour"},
		{"nobody", Caller{}, "harbour"},
	} {
		if got := d.Of(c.caller); got != c.want {
			t.Errorf("%s belongs to %q, want %q", c.name, got, c.want)
		}
	}
	d.Default = ""
	if got := d.Of(Caller{Issuer: "https://id.region.example", Client: "stranger"}); got != "" {
		t.Errorf("without a default a stranger belongs to %q, want nobody", got)
	}
	if d.Tenants[0].AuditLabel != "Harbour Clinic" || d.Tenants[1].AuditLabel != "hill" {
		t.Errorf("labels %q and %q, want the stated one, and the name", d.Tenants[0].AuditLabel, d.Tenants[1].AuditLabel)
	}
}

func TestEveryProblemOfATenantsFileIsReported(t *testing.T) {
	for _, c := range []struct {
		name, file string
		want       []string // parts of the report, one a problem
	}{
		{"no YAML", "tenants: [", []string{"not YAML or JSON"}},
		{"empty", "", []string{"want object"}},
		{"no tenants", "default: a", []string{"missing property 'tenants'"}},
		{"shape", "tenant: 1\ntenants:\n  - name: Bad Name\n    langauge: de\n  - callers: [{}]\n", []string{
			"additional properties 'tenant' not allowed", "tenants.0.name: ", "tenants.0: additional properties 'langauge'", "tenants.1: missing property 'name'", "tenants.1.callers.0: ",
		}},
		{"a client without its issuer", "tenants: [{name: a, callers: [{client: x}]}]", []string{"tenants.0.callers.0: properties 'issuer' required, if 'client' exists"}},
		{"the same name twice", "tenants: [{name: a}, {name: a}]", []string{"tenants.1.name: found \"a\", which stands at tenants.0.name"}},
		{"the same label twice", "tenants: [{name: a, auditLabel: x}, {name: b, auditLabel: x}]", []string{"tenants.1.auditLabel: "}},
		{"a label that is another's name", "tenants: [{name: a, auditLabel: b}, {name: b}]", []string{"tenants.1.auditLabel: "}},
		{"language and unit", "tenants: [{name: a, language: xx, forceUnit: stone}]", []string{"tenants.0.language: found \"xx\"", "tenants.0.forceUnit: found \"stone\""}},
		{"owners who are none", "default: b\nmessages: c\nrecord: d\ntenants: [{name: a}]", []string{"default: ", "messages: ", "record: "}},
		{"the same issuer twice", "tenants: [{name: a, callers: [{issuer: i}]}, {name: b, callers: [{issuer: i}]}]", []string{"tenants.1.callers.0: a caller may match this rule and tenants.0.callers.0"}},
		{"an issuer and a client of it", "tenants: [{name: a, callers: [{issuer: i}]}, {name: b, callers: [{issuer: i, client: c}]}]", []string{"tenants.1.callers.0: "}},
		{"an issuer and a certificate", "tenants: [{name: a, callers: [{issuer: i}]}, {name: b, callers: [{certificate: CN=x}]}]", []string{"tenants.1.callers.0: "}},
		{"twice in one tenant", "tenants: [{name: a, callers: [{issuer: i}, {issuer: i, certificate: CN=x}]}]", []string{"tenants.0.callers.1: "}},
		{"a key twice", "tenants: [{name: a}]\ntenants: [{name: b}]", []string{"not YAML or JSON"}},
	} {
		_, err := Load([]byte(c.file))
		problems, ok := errors.AsType[shape.Problems](err)
		if !ok || len(problems) != len(c.want) {
			t.Errorf("%s: %d problems, want %d: %v", c.name, len(problems), len(c.want), err)
			continue
		}
		for _, part := range c.want {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%s: the report does not say %q: %v", c.name, part, err)
			}
		}
	}
}
