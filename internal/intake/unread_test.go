package intake

import (
	"testing"
	"time"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// A statement about the load that cannot be read may have forbidden it.
// A permit that cannot open anything, because its day or its clinician is not known, still
// forbids what lies beyond it.
func TestAStatementThatCannotBeReadHoldsBack(t *testing.T) {
	careful, none := shoulder.LoadSubmaximalAtSide, shoulder.LoadNone
	held := func(phase shoulder.LoadPhase, dated bool) []shoulder.Permit {
		p := shoulder.Permit{Phase: phase}
		if dated {
			p.When = time.Date(2026, 11, 10, 0, 0, 0, 0, time.UTC)
		}
		return []shoulder.Permit{p}
	}
	on := at("2026-11-10")
	tests := []struct {
		name string
		o    *fhir.Observation
		want []shoulder.Permit
	}{
		{"a text", statedBy("p", fhir.CodePermittedLoad, &fhir.CodeableConcept{Text: "no load"}, on), held(careful, true)},
		{"an unknown phase", statedBy("p", fhir.CodePermittedLoad, ownConcept("load-little"), on), held(careful, true)},
		{"no load, no date", statedBy("p", fhir.CodePermittedLoad, ownConcept("load-none"), undated()), held(none, false)},
		{"a phase, no date", statedBy("p", fhir.CodePermittedLoad, ownConcept("load-elevated"), undated()), held(shoulder.LoadElevated, false)},
		{"an examination as a text", statedBy("p", fhir.CodeExaminedAndCleared, fhir.String("do not load"), on), held(careful, true)},
		{"a clearance as a text", statedBy("p", fhir.CodeResistedClearance, fhir.String("no"), on), held(careful, true)},

		{"a phase, of nobody", statedBy("p", fhir.CodePermittedLoad, ownConcept("load-elevated"), on, by()), held(shoulder.LoadElevated, true)},
		{"a phase, of a patient", statedBy("p", fhir.CodePermittedLoad, ownConcept("load-submaximal-at-side"), on, by(fhir.Reference{Reference: "Patient/p1"})), held(careful, true)},
		{"a phase, neither day nor clinician", statedBy("p", fhir.CodePermittedLoad, ownConcept("load-elevated"), undated(), by()), held(shoulder.LoadElevated, false)},

		{"a clearance of nobody", statedBy("p", fhir.CodeResistedClearance, fhir.Boolean(true), on, by()), nil},
		{"a phase", statedBy("p", fhir.CodePermittedLoad, ownConcept("load-elevated"), on), nil},
		{"a phase, of a day that has not come", statedBy("p", fhir.CodePermittedLoad, ownConcept("load-none"), at("2027-01-01")), held(none, false)},
		{"no value", statedBy("p", fhir.CodePermittedLoad, nil, on), nil},
		{"entered in error", statedBy("p", fhir.CodePermittedLoad, &fhir.CodeableConcept{Text: "no load"}, on, func(o *fhir.Observation) { o.Status = "entered-in-error" }), nil},
		{"a confirmation as a text", statedBy("p", fhir.CodeMeasurementConfirmed, fhir.String("yes"), on), nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := read(t, strengthOf("s"), tt.o)
			if about := lostSubjects(r); len(tt.want) > 0 && (len(about) == 0 || about[0] != fault.OfLoad) {
				t.Errorf("the issues are about %v, want the load", about)
			}
			got := r.Episode.Unread
			if len(got) != len(tt.want) {
				t.Fatalf("unread %+v, want %+v (source: ours)", got, tt.want)
			}
			for i := range got {
				if got[i].Phase != tt.want[i].Phase || !got[i].When.Equal(tt.want[i].When) {
					t.Errorf("unread %+v, want %+v (source: ours)", got[i], tt.want[i])
				}
			}
		})
	}
}
