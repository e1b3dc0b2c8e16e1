package fhir

// Elements is the table of elements, for the tests of what Encode writes.
var Elements = elements

// DecodeForgetful is Decode without its memory of what it has read.
func DecodeForgetful(body []byte, limits Limits) (Resource, error) {
	d := newDecoder(body, string(body), limits.OrDefault())
	d.forgetful = true
	return d.decode()
}
