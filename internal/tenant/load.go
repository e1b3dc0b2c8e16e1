package tenant

import (
	"cmp"
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"evenreach.example/internal/shape"
	"evenreach.example/internal/wording"
)

//go:embed schema.json
var schemaText []byte

var schema = sync.OnceValue(func() *jsonschema.Schema {
	return shape.Compile("https://evenreach.example/schema/tenants.json", schemaText)
})

// Load reads a tenants file, YAML or JSON. The error is of type shape.Problems and holds all that is
// wrong, but for the files that tenants name, which are read elsewhere. A file of the right shape gives
// a Directory also with an error, so that these can be reported together with the rest.
func Load(file []byte) (*Directory, error) {
	text, problems := shape.JSON(file, schema())
	if problems != nil {
		return nil, problems
	}
	d := new(Directory)
	if err := json.Unmarshal(text, d, json.RejectUnknownMembers(true)); err != nil {
		return nil, shape.Problems{{Text: err.Error()}}
	}
	problems = d.check()
	for i := range d.Tenants {
		if t := &d.Tenants[i]; t.AuditLabel == "" {
			t.AuditLabel = t.Name
		}
	}
	if len(problems) > 0 {
		return d, problems
	}
	return d, nil
}

// checker collects what is wrong.
type checker struct{ problems shape.Problems }

func (c *checker) report(path, format string, args ...any) {
	c.problems = append(c.problems, shape.Problem{Path: path, Text: fmt.Sprintf(format, args...)})
}

func (d *Directory) check() shape.Problems {
	var c checker
	names, labels := map[string]string{}, map[string]string{}
	for i := range d.Tenants {
		t, place := &d.Tenants[i], fmt.Sprintf("tenants.%d", i)
		if c.once(names, t.Name, place+".name") {
			c.once(labels, cmp.Or(t.AuditLabel, t.Name), place+".auditLabel")
		}
		if t.Language != "" && !wording.Has(t.Language) {
			c.report(place+".language", "found %q; expected one of %s", t.Language, strings.Join(wording.Languages(), ", "))
		}
		if t.ForceUnit != "" && !slices.Contains(wording.ForceUnits(), t.ForceUnit) {
			c.report(place+".forceUnit", "found %q; expected one of %s", t.ForceUnit, strings.Join(wording.ForceUnits(), ", "))
		}
	}
	c.owner(names, "default", d.Default)
	c.owner(names, "messages", d.Messages)
	c.owner(names, "record", d.Record)
	c.overlaps(d.Tenants)
	return c.problems
}

// once reports a value that stands at another place already, and returns true for one that does not.
func (c *checker) once(seen map[string]string, value, place string) bool {
	before, again := seen[value]
	if again {
		c.report(place, "found %q, which stands at %s already; expected another", value, before)
		return false
	}
	seen[value] = place
	return true
}

// owner reports a name that is no tenant's.
func (c *checker) owner(names map[string]string, place, name string) {
	if _, known := names[name]; name != "" && !known {
		c.report(place, "found %q; expected the name of a tenant", name)
	}
}

// placed is a rule and where it stands.
type placed struct {
	Rule
	place string
}

// overlaps reports each rule that may match a caller whom an earlier rule matches: which of them
// counts would be a guess.
func (c *checker) overlaps(tenants []Tenant) {
	var before []placed
	for i := range tenants {
		for k, rule := range tenants[i].Callers {
			here := placed{rule, fmt.Sprintf("tenants.%d.callers.%d", i, k)}
			found := slices.IndexFunc(before, func(other placed) bool { return other.overlaps(rule) })
			if found >= 0 {
				c.report(here.place, "a caller may match this rule and %s; expected them to state different values of issuer, client or certificate", before[found].place)
			}
			before = append(before, here)
		}
	}
}
