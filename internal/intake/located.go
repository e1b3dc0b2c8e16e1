package intake

import (
	"strconv"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/lexical"
)

// locate takes from the response to a transaction where a record stored the entries. Both
// Bundles have their entries in the same order.
//
// Source: FHIR R4 4.0.1, RESTful API, transaction response.
func (r *reader) locate(in Input, entries []entry) bool {
	if in.Response == nil {
		return true
	}
	answers := in.Response.Entry
	if len(answers) != len(in.Bundle.Entry) {
		r.refuse(fault.BadParameter, in.ResponseRoot, "response: expected the answer to the transaction, with as many entries as the Bundle, in its order")
		return false
	}
	r.locations = map[string]string{}
	for i := range entries {
		e := &entries[i]
		if e.bundle != r.root {
			continue
		}
		e.storedAt = locationOf(&answers[e.index])
		if e.storedAt != "" && e.fullURL != "" {
			r.locations[e.fullURL] = e.storedAt
		}
	}
	return true
}

// locationOf is the address of what was stored, without its version; "" if it is not
// stated.
func locationOf(answer *fhir.Entry) string {
	if answer.Response == nil || isFailure(answer.Response.Status) {
		return ""
	}
	location := lexical.WithoutVersion(answer.Response.Location)
	if !isRESTful(location) {
		return ""
	}
	return location
}

// stored replaces a temporary reference by the address in the record, if that is known.
func (r *reader) stored(ref *fhir.Reference) *fhir.Reference {
	location := r.locations[ref.Reference]
	if location == "" {
		return ref
	}
	at := *ref
	at.Reference = location
	return &at
}

func isTemporary(reference string) bool { return strings.HasPrefix(reference, "urn:uuid:") }

// warnTemporary warns that the results refer to the patient by a temporary address, which
// no record can resolve.
func (r *reader) warnTemporary(subject *fhir.Reference) {
	if !isTemporary(subject.Reference) || subject.Identifier != nil {
		return
	}
	temporary := 0
	for _, f := range r.findings {
		if isTemporary(f.entry.reference().Reference) {
			temporary++
		}
	}
	issue := fault.Issue{
		Severity: fault.Warning, Kind: fault.TemporaryAddress, Path: r.root,
		Detail: "the patient is known by a urn:uuid only, so that no search by patient finds the results; expected references such as Patient/123, or an identifier of the Patient, or the answer to the transaction in the parameter response",
	}
	if temporary > 0 {
		issue.Diagnostic = "found " + strconv.Itoa(temporary) + " measurements and statements with such an address, too"
	}
	if e := r.patient.entry; e != nil {
		issue.Path = e.path()
	}
	r.issues = append(r.issues, issue)
}
