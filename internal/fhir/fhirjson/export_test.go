package fhirjson

import "evenreach.example/internal/fhir"

// Elements is the table of elements, in R4's order.
var Elements = r4

// DecodeWithoutReuse is Decode, but reads repeated values anew instead of reusing them.
func DecodeWithoutReuse(body []byte, limits fhir.Limits) (fhir.Resource, error) {
	d := newDecoder(body, string(body), limits.OrDefault())
	d.noReuse = true
	return d.decode()
}
