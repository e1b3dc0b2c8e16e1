package intake

import (
	"fmt"
	"os"
	"testing"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/shoulder"
)

// visitOf60 is a complete re-check: two rotations, three positions, two sides
// and four trials are 48 strengths; range, pain and a steady arm make it 60.
func visitOf60() *fhir.Bundle {
	b := &fhir.Bundle{BundleType: "collection"}
	add := func(o *fhir.Observation) {
		o.ID = fmt.Sprintf("o%d", len(b.Entry))
		o.Encounter = &fhir.Reference{Reference: "Encounter/e1"}
		o.Performer = []fhir.Reference{{Reference: "Practitioner/t1"}}
		b.Entry = append(b.Entry, fhir.Entry{FullURL: "http://example.org/fhir/Observation/" + o.ID, Resource: o})
	}
	for _, side := range []string{fhir.SNOMEDRightShoulder, fhir.SNOMEDLeftShoulder} {
		for _, position := range shoulder.TrainedPositions {
			for _, c := range []string{fhir.CodeExternalRotationStrength, fhir.CodeInternalRotationStrength} {
				for trial := range 4 {
					add(observation("", coding(fhir.SystemShoulder, c), ucum(fhir.Decimal(fmt.Sprintf("%d.5", 80+trial)), "[lbf_av]"), onSide(side),
						with(fhir.CodeArmPosition, ownConcept(position.String())), with(fhir.CodeArmSupport, ownConcept("supported")),
						func(o *fhir.Observation) { o.Method = ownConcept("handheld-dynamometry") }))
				}
			}
			add(observation("", coding(fhir.SystemShoulder, fhir.CodeArmHeldSteady), fhir.Boolean(true), onSide(side), with(fhir.CodeArmPosition, ownConcept(position.String()))))
		}
		add(flexionOf("", onSide(side)))
		add(observation("", coding(fhir.SystemLOINC, fhir.LOINCAbductionActive), ucum("140", "deg"), onSide(side)))
		add(painOf("", fhir.Integer(3), onSide(side)))
	}
	return b
}

func TestVisitOf60IsReadWhole(t *testing.T) {
	r := readInput(t, Input{Bundle: visitOf60(), Involved: shoulder.Right, Received: received})
	wantIssues(t, r.Issues)
	if r.Used != 60 || len(r.Episode.Sessions) != 1 || len(r.Episode.Sessions[0].Trials) != 48 {
		t.Errorf("Used = %d in %d sessions, want 60 in one", r.Used, len(r.Episode.Sessions))
	}
}

func BenchmarkRead60(b *testing.B) {
	benchmarkRead(b, visitOf60())
}

// BenchmarkReadTenVisits reads a history as it is decoded: the trials are
// components, and values whose text repeats are shared.
func BenchmarkReadTenVisits(b *testing.B) {
	body, err := os.ReadFile("../../testdata/scenarios/ten-visits/input.json")
	if err != nil {
		b.Fatal(err)
	}
	resource, err := fhirjson.Decode(body, fhir.DefaultLimits)
	if err != nil {
		b.Fatal(err)
	}
	history, ok := resource.(*fhir.Bundle)
	if !ok {
		b.Fatalf("decoded a %T, want a Bundle", resource)
	}
	benchmarkRead(b, history)
}

func benchmarkRead(b *testing.B, of *fhir.Bundle) {
	in := Input{Bundle: of, Involved: shoulder.Right, Received: received}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(in); err != nil {
			b.Fatal(err)
		}
	}
}
