package intake

import (
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// A repair in an entry that is not FHIR R4 is spared as one whose status is not known; an operation that may be one is
// spared as such, beside the repair that it may be if it has no date, and tells nothing about the sides.
//
// Source of the expected values: "less is never more", a rule of ours.
func TestAnOperationThatCannotBeReadIsSpared(t *testing.T) {
	right, left := snomedConcept(fhir.SNOMEDRightShoulder), snomedConcept(fhir.SNOMEDLeftShoulder)
	cpt := func(when string, site *fhir.CodeableConcept) *fhir.Procedure {
		p := repairOf("c", when, site)
		p.Code = concept(coding("http://www.ama-assn.org/go/cpt", "29827"))
		return p
	}
	in := func(p *fhir.Procedure, status string) *fhir.Procedure {
		p.Status = status
		return p
	}
	repair := func() *fhir.Procedure { return repairOf("p", "2026-10-01", right) }
	knee := in(repairOf("k", "2026-10-01", snomedConcept("72696002")), "")
	knee.Code = snomedConcept("80146002")
	tests := []struct {
		name      string
		malformed *fhir.Procedure
		sent      []fhir.Resource
		want      []shoulder.RepairKind
	}{
		{"a repair without its status", in(repair(), ""), nil, []shoulder.RepairKind{shoulder.RepairOfCuff}},
		{"an operation without its status", in(cpt("2026-10-01", right), ""), nil, []shoulder.RepairKind{shoulder.RepairPossible}},
		{"one that was not done", in(repair(), "not-done"), nil, nil},
		{"one long ago", in(cpt("2024-10-01", right), ""), nil, nil},
		{"of the knee", knee, nil, nil},
		{"without a date, beside a repair", nil, []fhir.Resource{repair(), cpt("", right)}, []shoulder.RepairKind{shoulder.RepairOfCuff}},
		{"later than a repair", nil, []fhir.Resource{repair(), cpt("2026-10-10", right)}, []shoulder.RepairKind{shoulder.RepairOfCuff, shoulder.RepairPossible}},
		{"of the other side", nil, []fhir.Resource{cpt("2026-10-10", left)}, []shoulder.RepairKind{shoulder.RepairPossible}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := bundle(append(tt.sent, strengthOf("s"))...)
			if tt.malformed != nil {
				b.Entry = append(b.Entry, malformedEntry(tt.malformed))
			}
			e := readInput(t, Input{Bundle: b, Involved: shoulder.Right, Received: received}).Episode
			if len(e.Repairs) != len(tt.want) || e.ComparisonAffected {
				t.Fatalf("repairs %+v, comparison affected %t, want %v and a comparison side that is none the worse", e.Repairs, e.ComparisonAffected, tt.want)
			}
			for i, kind := range tt.want {
				if e.Repairs[i].Kind != kind {
					t.Errorf("repairs %+v, want %v", e.Repairs, tt.want)
				}
			}
		})
	}
}
