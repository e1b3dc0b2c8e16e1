package intake

import (
	"cmp"

	"evenreach.example/internal/fhir"
)

// subject returns how results refer to the patient, and the patient's identity
// for digests. Only what was used counts, so that an unrelated resource changes
// neither.
func (r *reader) subject() (fhir.Reference, string) {
	var subject fhir.Reference
	for _, f := range r.findings {
		if s := subjectOf(f.entry.resource); s != nil {
			prefer(&subject, r.stored(s), f.entry)
		}
	}
	if e := r.patient.entry; e != nil {
		if subject.Reference == "" {
			subject.Reference = e.reference().Reference
		}
		if id := firstIdentifier(e.common.Identifier); id.Value != "" && !isRESTful(subject.Reference) {
			subject.Identifier = &id
		}
	}
	return subject, r.patientIdentity(subject)
}

// patientIdentity is Type/id where there is one, whatever the server's base,
// else the identifier, else the reference.
func (r *reader) patientIdentity(subject fhir.Reference) string {
	e := r.patient.entry
	switch {
	case isRESTful(subject.Reference):
		return tail(subject.Reference)
	case e != nil && e.common.ID != "":
		return "Patient/" + e.common.ID
	case subject.Identifier != nil:
		return subject.Identifier.System + "|" + subject.Identifier.Value
	}
	return subject.Reference
}

// withoutDisplay keeps of a subject what can be pointed at from outside.
func withoutDisplay(s fhir.Reference, from *entry) fhir.Reference {
	if !isContained(s.Reference) {
		return fhir.Reference{Reference: withoutVersion(s.Reference), Identifier: s.Identifier}
	}
	contained, ok := from.containedResource(s.Reference).(*fhir.Patient)
	if !ok {
		return fhir.Reference{}
	}
	id := firstIdentifier(contained.Identifier)
	if id.Value == "" {
		return fhir.Reference{}
	}
	return fhir.Reference{Identifier: &id}
}

// prefer puts a reference that stands in an entry in the place of the one that
// was found so far, if it is to be preferred.
func prefer(found, next *fhir.Reference, from *entry) {
	if next.Reference == "" || next.Reference != found.Reference {
		*found = preferred(*found, withoutDisplay(*next, from))
	}
}

// preferred is the reference that travels best: relative, then absolute, then
// urn, then identifier alone; of equals the first in alphabetical order.
func preferred(a, b fhir.Reference) fhir.Reference {
	if cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a.Reference, b.Reference)) <= 0 {
		return a
	}
	return b
}

func rank(r fhir.Reference) int {
	base, _, restful := splitReference(r.Reference)
	switch {
	case restful && base == "":
		return 0
	case restful:
		return 1
	case r.Reference != "":
		return 2
	case r.Identifier != nil:
		return 3
	}
	return 4
}

func isRESTful(reference string) bool {
	_, _, ok := splitReference(reference)
	return ok
}
