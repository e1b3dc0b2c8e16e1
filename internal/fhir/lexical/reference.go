package lexical

import "strings"

// SplitReference splits a RESTful reference, absolute or relative, such as
// https://record.example/fhir/Observation/1, into the base of its server, empty if it
// is relative, the resource type and the id. It reports false for any other reference,
// such as a urn or one of a version.
//
// Source: FHIR R4 4.0.1, Reference, literal references; data type id.
func SplitReference(reference string) (base, typeName, id string, ok bool) {
	last := strings.LastIndexByte(reference, '/')
	if last < 0 {
		return "", "", "", false
	}
	start := strings.LastIndexByte(reference[:last], '/') + 1
	typeName, id = reference[start:last], reference[last+1:]
	if typeName == "" || typeName[0] < 'A' || typeName[0] > 'Z' || !IsID(id) {
		return "", "", "", false
	}
	return reference[:start], typeName, id, true
}

// WithoutVersion cuts the version off a version-specific reference.
func WithoutVersion(reference string) string {
	before, _, _ := strings.Cut(reference, "/_history/")
	return before
}
