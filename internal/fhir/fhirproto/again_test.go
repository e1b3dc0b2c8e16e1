package fhirproto_test

import (
	"slices"
	"testing"

	"evenreach.example/internal/fault"
	dpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/datatypes_go_proto"
	opb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/observation_go_proto"
)

// A value that repeats is read once, but what is wrong with it is told at each place.
func TestAProblemIsToldAtEachPlace(t *testing.T) {
	bad := &dpb.CodeableConcept{Text: &dpb.String{Value: "\x00"}}
	_, err := read(t, observationBundle(func(o *opb.Observation) { o.Category = []*dpb.CodeableConcept{bad, bad, bad} }))
	found := issues(err)
	if len(found) != 3 || found[2].Path != "Bundle.entry[0].resource.category[2].text" {
		t.Errorf("%v, want a problem in each of three categories", found)
	}
}

// A value that repeats is over the limit where it lies too deep, though it was not
// where it was read first.
func TestARepeatedValueTooDeep(t *testing.T) {
	chain := func(length int, end *dpb.Extension) *dpb.Extension {
		for range length {
			end = &dpb.Extension{Url: &dpb.Uri{Value: "urn:x"}, Extension: []*dpb.Extension{end}}
		}
		return end
	}
	concept := &dpb.CodeableConcept{Text: &dpb.String{Value: "t"}, Extension: []*dpb.Extension{chain(20, &dpb.Extension{Url: &dpb.Uri{Value: "urn:x"}})}}
	deep := &dpb.Extension{Url: &dpb.Uri{Value: "urn:x"}, Value: &dpb.Extension_ValueX{Choice: &dpb.Extension_ValueX_CodeableConcept{CodeableConcept: concept}}}
	bundle := observationBundle(func(o *opb.Observation) {
		o.ModifierExtension = []*dpb.Extension{deep, chain(20, deep)}
	})
	_, err := read(t, bundle)
	if !slices.ContainsFunc(issues(err), func(i fault.Issue) bool { return i.Kind == fault.TooLong }) {
		t.Errorf("%v, want a refusal for depth", err)
	}
	bundle.Entry[0].Resource.GetObservation().ModifierExtension = []*dpb.Extension{deep, chain(2, deep)}
	if _, err := read(t, bundle); err != nil {
		t.Errorf("%v, want what is not so deep to be read", err)
	}
}
