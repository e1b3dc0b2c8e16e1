package fhirjson

import "evenreach.example/internal/fhir"

// Elements is the table of elements, in R4's order.
var Elements = r4

// DecodeForgetful is Decode without its memory of what it has read.
func DecodeForgetful(body []byte, limits fhir.Limits) (fhir.Resource, error) {
	d := newDecoder(body, string(body), limits.OrDefault())
	d.forgetful = true
	return d.decode()
}
