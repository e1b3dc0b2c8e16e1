package tenant

import (
	"slices"
	"testing"

	"github.com/go-json-experiment/json"
	"pgregory.net/rapid"
	"sigs.k8s.io/yaml"
)

// anyRule draws from so few values that rules often meet.
func anyRule(t *rapid.T) Rule {
	value := rapid.SampledFrom([]string{"", "a", "b"})
	r := Rule{Issuer: value.Draw(t, "issuer"), Certificate: value.Draw(t, "certificate")}
	if r.Issuer != "" {
		r.Client = value.Draw(t, "client")
	}
	return r
}

// everyCaller are all callers with these values, and those who have none of one.
func everyCaller() (all []Caller) {
	values := []string{"", "a", "b", "c"}
	for _, issuer := range values {
		for _, client := range values {
			for _, certificate := range values {
				all = append(all, Caller{issuer, client, certificate})
			}
		}
	}
	return all
}

// Two rules overlap exactly if there is a caller who matches both.
func TestRulesOverlapIfACallerMatchesBoth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyRule(t), anyRule(t)
		both := slices.ContainsFunc(everyCaller(), func(c Caller) bool { return a.matches(c) && b.matches(c) })
		if a.overlaps(b) != both || b.overlaps(a) != both {
			t.Errorf("%+v and %+v overlap: %v and %v; somebody matches both: %v", a, b, a.overlaps(b), b.overlaps(a), both)
		}
	})
}

// Of a file that loads each caller matches one rule at most, so that the order of tenants means nothing.
func TestNobodyBelongsToTwoTenants(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Directory{Tenants: []Tenant{{Name: "x"}, {Name: "y"}, {Name: "z"}}}
		for i := range d.Tenants {
			d.Tenants[i].Callers = rapid.SliceOfN(rapid.Custom(anyRule), 0, 3).Draw(t, d.Tenants[i].Name)
		}
		text, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		loaded, err := Load(text)
		if err != nil {
			return
		}
		for _, c := range everyCaller() {
			matched := 0
			for i := range loaded.Tenants {
				for _, rule := range loaded.Tenants[i].Callers {
					if rule.matches(c) {
						matched++
					}
				}
			}
			if matched > 1 {
				t.Errorf("%+v matches %d rules of %s", c, matched, text)
			}
			before := loaded.Of(c)
			slices.Reverse(loaded.Tenants)
			if after := loaded.Of(c); after != before {
				t.Errorf("%+v belongs to %q or %q, depending on the order", c, before, after)
			}
		}
	})
}

// FuzzLoad tries tenants files: each is refused with problems, or loads as what it prints as does, without a rule
// that names everybody.
func FuzzLoad(f *testing.F) {
	for _, text := range []string{
		twoClinics, "", "{}", "tenants: [{name: a, callers: [{issuer: i}]}]", "a: &a [*a]", "? {}\n: 1", "tenants: [{name: a}]\n---\ntenants: []", "\xff",
		"tenants: &t [{name: a}]\ndefault: *t", `{"tenants":[{"name":"a","callers":[{"certificate":"CN=x"}]}]}`, "tenants: 1e999",
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		d, err := Load(file)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error that says nothing")
			}
			return
		}
		for i := range d.Tenants {
			if slices.Contains(d.Tenants[i].Callers, Rule{}) {
				t.Fatalf("%q has a rule for everybody", file)
			}
		}
		text, err := yaml.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		again, err := Load(text)
		if err != nil {
			t.Fatalf("%q loads, and not what it prints as: %v\n%s", file, err, text)
		}
		if second, err := yaml.Marshal(again); err != nil || string(second) != string(text) {
			t.Fatalf("%q prints as\n%s\nwhich prints as\n%s", file, text, second)
		}
	})
}
