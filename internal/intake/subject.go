package intake

import (
	"cmp"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
)

// subject returns how results refer to the patient, and the patient's identity
// for digests. Only what was used counts, so that an unrelated resource changes
// neither.
func (r *reader) subject() (fhir.Reference, string) {
	var subject fhir.Reference
	for _, f := range r.findings {
		if s := fhir.SubjectOf(f.entry.resource); s != nil {
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

// patientIdentity is the address of the patient, with the base of the server if any
// reference or address tells it, and an identifier of the patient: Patient/1 of two
// servers, or of two hospitals on one, are two people.
func (r *reader) patientIdentity(subject fhir.Reference) string {
	address, identifier := "", ""
	if subject.Identifier != nil {
		identifier = identifierText(*subject.Identifier)
	}
	e := r.patient.entry
	if e != nil {
		identifier = cmp.Or(identifierText(firstIdentifier(e.common.Identifier)), identifier)
	}
	switch known := r.patientAddress(); {
	case known != "":
		address = known
	case isRESTful(subject.Reference):
		address = subject.Reference
	case e != nil && e.common.ID != "":
		address = "Patient/" + e.common.ID
	}
	return cmp.Or(strings.TrimSpace(address+" "+identifier), subject.Reference)
}

// patientAddress is the address of the patient with the base of the server, as the
// Patient or what was used of the input tells it; "" if nothing does.
func (r *reader) patientAddress() string {
	if e := r.patient.entry; e != nil && baseOf(e.thing().key) != "" {
		return e.thing().key
	}
	for _, f := range r.findings {
		if key, about := r.patientKey(fhir.SubjectOf(f.entry.resource), f.entry); about == aboutPatient && baseOf(key) != "" {
			return key
		}
	}
	return ""
}

// withoutDisplay keeps of a subject what can be pointed at from outside.
func withoutDisplay(s fhir.Reference, from *entry) fhir.Reference {
	if !isContained(s.Reference) {
		return fhir.Reference{Reference: lexical.WithoutVersion(s.Reference), Identifier: s.Identifier}
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
	base, _, _, restful := lexical.SplitReference(r.Reference)
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
	_, _, _, ok := lexical.SplitReference(reference)
	return ok
}
