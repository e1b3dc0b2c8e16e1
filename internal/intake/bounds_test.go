package intake

import (
	"fmt"
	"testing"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/shoulder"
)

// What is not listed is counted.
func TestIssuesAreBounded(t *testing.T) {
	const more = 3
	o := strengthOf("s")
	for range maxIssues + more {
		o.Component = append(o.Component, fhir.Component{Code: fhir.CodeableConcept{Text: "foreign"}})
	}
	r := read(t, o)
	last := r.Issues[0] // the root stands before what is in it
	if len(r.Issues) != maxIssues+1 || last.Kind != fault.TooLong || last.Path != "Bundle" || last.Diagnostic != "found 3 more" {
		t.Errorf("%d issues, the first %+v; want %d and the number of the others", len(r.Issues), last, maxIssues+1)
	}
}

func TestManyPerformersAreNobody(t *testing.T) {
	of := func(n int) shoulder.ExaminerID {
		o := flexionOf("f", onSide(fhir.SNOMEDRightShoulder))
		for i := range n {
			o.Performer = append(o.Performer, fhir.Reference{Reference: fmt.Sprintf("Practitioner/%d", i)})
		}
		return read(t, o).Episode.Sessions[0].Ranges[0].Examiner
	}
	if of(maxPerformers) == 0 || of(maxPerformers+1) != 0 {
		t.Errorf("%d performers are examiner %d, one more %d; want one, and none", maxPerformers, of(maxPerformers), of(maxPerformers+1))
	}
}
