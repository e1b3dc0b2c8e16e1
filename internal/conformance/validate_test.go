//go:build conformance

package conformance

import (
	"bytes"
	"strings"
	"testing"

	"evenreach.example/internal/record"
)

var explainedByNode = []explanation{
	{"fhirpath", `^dom-6: `, "the narrative of the DiagnosticReport and of the CarePlan says what the other resources of an answer hold, and a measurement in the example request has none"},
	{"fhirpath", `^dom-3 not evaluated: `, "the engine cannot evaluate R4's expression on a resource with contained ones; elements.mjs resolves the references to them"},
	{"fhirpath", `^eld-(16|19|20) not evaluated: Invalid regular expression`, "the expressions of R4 are no regular expressions to JavaScript's unicode mode; HL7's validator evaluates them"},
}

func TestValidatorsAccept(t *testing.T) {
	check(t, validated(t, allClaimed(t, bundles(t))), explainedByNode)
}

// A validator that finds nothing proves nothing: each fault is put into a good
// answer and must be found by the engine that is there for it.
func TestValidatorsFindFaults(t *testing.T) {
	tests := []struct{ name, from, to, engine, message string }{
		{"unknown element", `"status":"preliminary"`, `"status":"preliminary","staus":"final"`, "defs", "unknown element"},
		{"code outside a required value set", `"status":"preliminary"`, `"status":"nearly"`, "defs", "required value set"},
		{"code of ours that does not exist", `"code":"limb-symmetry-index"`, `"code":"limb-symmetry-indec"`, "defs", "unknown code"},
		{"display of ours that differs", `"code":"limb-symmetry-index"`, `"code":"limb-symmetry-index","display":"Symmetry"`, "defs", "should be"},
		{"no such day", `"dueDate":"2026-0`, `"dueDate":"2026-02-30","x":"2026-0`, "defs", "no such day"},
		{"unit that is not UCUM", `"code":"deg"`, `"code":"degree"`, "ucum", "is not UCUM"},
		{"reference to nowhere", `"result":[`, `"result":[{"reference":"urn:uuid:00000000-0000-5000-8000-000000000000"},`, "defs", "matches no fullUrl"},
		{"script in a narrative", `</div>`, `<script>x</script></div>`, "defs", "narrative"},
		{"value beside the reason for its absence", `"interpretation":[`, `"dataAbsentReason":{"text":"x"},"interpretation":[`, "fhirpath", "obs-6"},
		{"wrong JSON type", `"status":"preliminary"`, `"status":["preliminary"]`, "schema", "allowed values"},
		{"profile: rotation is missing", `"code":"rotation"`, `"code":"rotation-readiness"`, "profile", "limb-symmetry-index"},
		{"profile: another unit", `"code":"%"`, `"code":"1"`, "profile", "limb-symmetry-index"},
		{"profile: value outside the value set", `"code":"flexion-90"`, `"code":"even-flexion-90"`, "profile", "required value set"},
	}
	var broken []document
	all, _ := claimed(t, answersAs(t, record.Transaction)[:1])
	good := all[0].body
	for _, tt := range tests {
		bad := bytes.ReplaceAll(good, []byte(tt.from), []byte(tt.to))
		if bytes.Equal(bad, good) {
			t.Fatalf("%s: the answer has no %s", tt.name, tt.from)
		}
		broken = append(broken, document{strings.ReplaceAll(tt.name, " ", "-"), bad})
	}
	findings := validated(t, broken)
	for i, tt := range tests {
		found := false
		for _, f := range findings {
			found = found || f.Document == broken[i].name+".json" && f.Engine == tt.engine && f.Severity != "information" && strings.Contains(f.Message, tt.message)
		}
		if !found {
			t.Errorf("%s: %s does not find it", tt.name, tt.engine)
		}
	}
}
