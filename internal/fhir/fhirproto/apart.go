package fhirproto

import (
	"slices"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// entryApart reads an entry of a Bundle. When the reader is tolerant, what is wrong in
// it concerns only that entry, unless it is over a limit.
func (r *reader) entryApart(m message, e *fhir.Entry) {
	if !r.tolerant {
		r.entry(m, e)
		return
	}
	outer := r.issues
	r.issues = nil
	r.entry(m, e)
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
