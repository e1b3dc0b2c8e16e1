package intake

import (
	"testing"

	"evenreach.example/internal/fhir"
)

// A reading that no shoulder exerts puts the test that it belongs to in doubt, however it was sent; one that cannot be
// read at all counts as missing. Neither lets the trials beside it decide alone.
//
// Source of the expected values: "less is never more", a rule of ours; 700 N is the limit, which is ours too.
func TestWhatATrialBesideOthersLeavesBehind(t *testing.T) {
	three := func(v fhir.Value) []fhir.Resource {
		return []fhir.Resource{strengthOf("x", value(nil), with(fhir.CodeTrial, ucum("100", "N")), with(fhir.CodeTrial, ucum("101", "N")), with(fhir.CodeTrial, v))}
	}
	apart := func(v fhir.Value, changes ...option) []fhir.Resource {
		return []fhir.Resource{strengthOf("x", value(ucum("100", "N"))), strengthOf("y", append(changes, value(v))...)}
	}
	otherDay := at("2026-11-01")
	bound := &fhir.Quantity{Value: "10", Comparator: "<", Code: "N", Unit: "N", System: fhir.SystemUCUM}
	tests := []struct {
		name       string
		sent       []fhir.Resource
		refused    int
		incomplete bool
	}{
		{"701 N", three(ucum("701", "N")), 1, false},
		{"-100 N", three(ucum("-100", "N")), 1, false},
		{"701 N, in its own Observation", apart(ucum("701", "N")), 1, false},
		{"901 N of another day", apart(ucum("901", "N"), otherDay), 0, false},
		{"more than 5 N per kg", append(apart(ucum("600", "N")), massOf("m", "80", "2026-11-01")), 1, false},
		{"700 N", three(ucum("700", "N")), 0, false},
		{"a bound", three(bound), 0, true},
		{"a text", three(fhir.String("5 N")), 0, true},
		{"another unit", three(ucum("5", "m")), 0, true},
		{"not done", three(nil), 0, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := read(t, tt.sent...).Episode
			got := 0
			for _, s := range e.Sessions {
				got += len(s.Refused)
			}
			if got != tt.refused || e.Incomplete != tt.incomplete {
				t.Errorf("%d refused, incomplete %t, want %d and %t", got, e.Incomplete, tt.refused, tt.incomplete)
			}
		})
	}
}
