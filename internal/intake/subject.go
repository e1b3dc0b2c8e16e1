package intake

import (
	"cmp"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
)

// subject returns the reference by which results name the patient, and the patient's
// identity for digests. Both rest on the accepted findings only, so that an unrelated
// resource changes neither.
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

// patientAddress is the address of the patient with the base of the server, from the
// Patient resource or the accepted findings; "" if none has it.
func (r *reader) patientAddress() string {
	if e := r.patient.entry; e != nil && baseOf(e.target().key) != "" {
		return e.target().key
	}
	for _, f := range r.findings {
		if key, about := r.patientKey(fhir.SubjectOf(f.entry.resource), f.entry); about == subjectPatient && baseOf(key) != "" {
			return key
		}
	}
	return ""
}

// withoutDisplay keeps the parts of a subject by which others can refer to it.
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

// prefer replaces the reference found so far by the next one, which stands in an entry, if
// that is preferred.
func prefer(found, next *fhir.Reference, from *entry) {
	if next.Reference == "" || next.Reference != found.Reference {
		*found = preferred(*found, withoutDisplay(*next, from))
	}
}

// preferred is the better of two references for use in a result: relative, then absolute,
// then urn, then identifier alone; of equal ones the first in alphabetical order.
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
