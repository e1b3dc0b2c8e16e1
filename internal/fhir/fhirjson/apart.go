package fhirjson

import (
	"slices"

	"evenreach.example/internal/fhir"
)

// entryApart decodes an entry of a Bundle. When the decoder is tolerant, what is
// wrong in it concerns only that entry.
func (d *decoder) entryApart(e *fhir.Entry) {
	if !d.tolerant {
		d.entry(e)
		return
	}
	outerIn, outerFrom, before := d.inEntry, d.entryFrom, d.problems
	d.inEntry, d.entryFrom = true, len(d.issues)
	d.entry(e)
	if d.problems > before && !d.stopped {
		e.Resource = &fhir.Malformed{Read: e.Resource, Issues: slices.Clone(d.issues[d.entryFrom:])}
		d.issues = d.issues[:d.entryFrom]
		d.problems = before
	}
	d.inEntry, d.entryFrom = outerIn, outerFrom
}
