// Package fhirjson is a strict codec of the FHIR R4 wire model for JSON.
package fhirjson

import (
	"fmt"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// Decode reads a resource in FHIR JSON. It is strict: it refuses what is not
// FHIR R4 JSON, and what R4 leaves to the reader's choice, such as a name
// given twice. Elements that R4 has and the wire model has not are passed over;
// only their JSON is checked. A resource of a type that is not read becomes
// *fhir.Other.
//
// The error is always *fault.Errors and lists every problem found, in the
// order of the input, up to fhir.MaxIssues. A fault of syntax, a name given twice or
// a limit ends the reading; its issue is Fatal. Details quote nothing of the
// input. A path does hold the names of elements.
//
// The strings of the resource share one copy of body; body itself is not kept.
//
// Source: FHIR R4 4.0.1, JSON representation of resources and data types.
func Decode(body []byte, limits fhir.Limits) (fhir.Resource, error) {
	return decode(body, limits, false)
}

// DecodeInput is Decode for what is to be understood as far as it goes: an entry of a
// Bundle that is not FHIR R4 becomes *fhir.Malformed, and the others are read. What
// makes the JSON ambiguous or too large still refuses all.
func DecodeInput(body []byte, limits fhir.Limits) (fhir.Resource, error) {
	return decode(body, limits, true)
}

func decode(body []byte, limits fhir.Limits, tolerant bool) (fhir.Resource, error) {
	limits = limits.OrDefault()
	if len(body) > limits.Bytes {
		issue := fault.Issue{
			Severity: fault.Fatal,
			Kind:     fault.TooLong,
			Detail:   fmt.Sprintf("found a body of %d bytes; expected at most %d", len(body), limits.Bytes),
		}
		return nil, &fault.Errors{Issues: []fault.Issue{issue}}
	}
	d := newDecoder(body, string(body), limits)
	d.tolerant = tolerant
	return d.decode()
}

// decode reads the body.
func (d *decoder) decode() (fhir.Resource, error) {
	d.next()
	r := d.resource()
	d.finish()
	if len(d.issues) > 0 {
		return nil, &fault.Errors{Issues: d.issues}
	}
	return r, nil
}
