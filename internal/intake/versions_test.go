package intake

import (
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

func standing(status string) option { return func(o *fhir.Observation) { o.Status = status } }

func issuedAt(instant string) option { return func(o *fhir.Observation) { o.Issued = instant } }

// Which of two copies of one Observation counts. Source: FHIR R4 4.0.1, Resource.meta and
// the value set observation-status; that nothing else decides is ours.
func TestOrderOfVersions(t *testing.T) {
	const none = ""
	old, changed := value(ucum("60", "N")), value(ucum("95", "N"))
	tests := []struct {
		name        string
		left, right []option
		want        string // the value that counts; none if there is none
		undecided   bool
	}{
		{"final, then corrected", []option{old, standing("final")}, []option{changed, standing("corrected")}, "95", false},
		{"final, then amended", []option{old, standing("final")}, []option{changed, standing("amended")}, "95", false},
		{"final, then entered in error", []option{old, standing("final")}, []option{old, standing("entered-in-error")}, none, false},
		{"corrected, then cancelled", []option{old, standing("corrected")}, []option{old, standing("cancelled")}, none, false},
		{"preliminary, then final", []option{old, standing("preliminary")}, []option{changed}, "95", false},
		{"registered, then final", []option{old, standing("registered")}, []option{changed}, "95", false},
		{"issued goes before status", []option{old, standing("corrected"), issuedAt("2026-11-20T10:00:00Z")}, []option{changed, issuedAt("2026-11-20T11:00:00Z")}, "95", false},
		{"update goes before issue", []option{old, version("", "2026-11-20T13:00:00Z"), issuedAt("2026-11-20T10:00:00Z")}, []option{changed, version("", "2026-11-20T12:00:00Z"), issuedAt("2026-11-20T11:00:00Z")}, "60", false},
		{"version goes before update", []option{old, version("2", "2026-11-20T12:00:00Z")}, []option{changed, version("1", "2026-11-20T13:00:00Z")}, "60", false},
		{"same version, later update", []option{old, version("1", "2026-11-20T12:00:00Z")}, []option{changed, version("1", "2026-11-20T13:00:00Z")}, "95", false},
		{"versions that are no numbers, later update", []option{old, version("z", "2026-11-20T12:00:00Z")}, []option{changed, version("a", "2026-11-20T13:00:00Z")}, "95", false},
		{"only one has a version, the other a later status", []option{old, version("1", "")}, []option{changed, standing("corrected")}, "95", false},

		{"nothing differs but the value", []option{old}, []option{changed}, none, true},
		{"amended and corrected", []option{old, standing("amended")}, []option{changed, standing("corrected")}, none, true},
		{"only one has an update", []option{old, version("", "2026-11-20T12:00:00Z")}, []option{changed}, none, true},
		{"only one was issued", []option{old, issuedAt("2026-11-20T12:00:00Z")}, []option{changed}, none, true},
		{"only one has a version", []option{old, version("1", "")}, []option{changed}, none, true},
		{"versions that are no numbers", []option{old, version("a", "")}, []option{changed, version("b", "")}, none, true},
		{"the same version with two values", []option{old, version("1", "")}, []option{changed, version("1", "")}, none, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for _, order := range [][2][]option{{tt.left, tt.right}, {tt.right, tt.left}} {
				pain := fhir.Entry{Resource: painOf("p", fhir.Integer(1))}
				r := readInput(t, Input{Involved: shoulder.Right, Bundle: &fhir.Bundle{Entry: []fhir.Entry{
					{Resource: strengthOf("a", order[0]...)}, {Resource: strengthOf("a", order[1]...)}, pain,
				}}})
				got := none
				for _, trial := range r.Episode.Sessions[0].Trials {
					got += trial.Value.String()
				}
				if got != tt.want {
					t.Errorf("the value that counts is %q, want %q", got, tt.want)
				}
				if n := count(r.Issues, fault.VersionUndecided); (n == 2) != tt.undecided || n == 1 {
					t.Errorf("%d copies are undecided, want both: %t", n, tt.undecided)
				}
			}
		})
	}
}

// Three versions of which one is unordered decide nothing, in any order.
func TestUndecidedAmongMany(t *testing.T) {
	a := fhir.Entry{Resource: strengthOf("a", value(ucum("1", "N")), version("1", ""))}
	b := fhir.Entry{Resource: strengthOf("a", value(ucum("2", "N")), version("2", ""))}
	c := fhir.Entry{Resource: strengthOf("a", value(ucum("3", "N")))}
	pain := fhir.Entry{Resource: painOf("p", fhir.Integer(1))}
	for _, entries := range [][]fhir.Entry{{a, b, c, pain}, {c, b, a, pain}, {b, c, a, pain}, {a, c, b, pain}} {
		r := readInput(t, Input{Bundle: &fhir.Bundle{Entry: entries}, Involved: shoulder.Right})
		if n := count(r.Issues, fault.VersionUndecided); n != 3 || r.Used != 1 {
			t.Errorf("%d undecided and %d used, want 3 and the pain", n, r.Used)
		}
	}
}

func count(issues []fault.Issue, kind fault.Kind) (n int) {
	for _, i := range issues {
		if i.Kind == kind {
			n++
		}
	}
	return n
}
