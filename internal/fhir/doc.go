// Package fhir is the wire model: the FHIR R4 elements that Evenreach reads or
// writes, as plain structs, and the codes that it knows. A zero field is an absent
// element. Elements of R4 that are not here are skipped on input; names that R4
// does not have are refused.
//
// The structs are generated, as are the codecs for JSON and for protocol buffers in
// fhirjson and fhirproto: generate/elements.txt says from what.
package fhir
