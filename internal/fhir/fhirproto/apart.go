package fhirproto

import (
	"slices"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	bcrpb "github.com/google/fhir/go/proto/google/fhir/proto/r4/core/resources/bundle_and_contained_resource_go_proto"
)

// entryApart reads an entry of a Bundle. When the reader is tolerant, what is wrong in
// it concerns only that entry, unless it is over a limit.
func (r *reader) entryApart(p *bcrpb.Bundle_Entry, e *fhir.Entry) {
	if !r.tolerant {
		r.entry(p, e)
		return
	}
	outer := r.issues
	r.issues = nil
	r.entry(p, e)
	found := r.issues
	r.issues = outer
	switch {
	case len(found) == 0:
	case slices.ContainsFunc(found, isLimit):
		r.keep(found...)
	default:
		e.Resource = &fhir.Malformed{Read: e.Resource, Issues: slices.Clone(found[:min(len(found), fhir.MaxEntryIssues)])}
	}
}

func isLimit(i fault.Issue) bool { return i.Kind == fault.TooLong }
