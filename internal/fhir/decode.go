package fhir

import (
	"fmt"

	"evenreach.example/internal/fault"
)

// Limits bounds what Decode reads, so that a hostile body stays cheap. A zero
// field stands for its default.
type Limits struct {
	Bytes   int // length of the body
	Depth   int // nested objects and arrays
	Entries int // Bundle entries, those of nested Bundles included
}

// DefaultLimits are wide enough for the largest history of one patient: 20,000
// measurements are a hundred visits with two hundred trials each, and the
// deepest element of R4 that is read lies about twenty levels down.
var DefaultLimits = Limits{Bytes: 8 << 20, Depth: 40, Entries: 20_000}

// orDefault fills the zero fields.
func (l Limits) orDefault() Limits {
	if l.Bytes == 0 {
		l.Bytes = DefaultLimits.Bytes
	}
	if l.Depth == 0 {
		l.Depth = DefaultLimits.Depth
	}
	if l.Entries == 0 {
		l.Entries = DefaultLimits.Entries
	}
	return l
}

// Decode reads a resource in FHIR JSON. It is strict: it refuses what is not
// FHIR R4 JSON, and what R4 leaves to the reader's choice, such as a name
// given twice. Elements that R4 has and the wire model has not are passed over;
// only their JSON is checked. A resource of a type that is not read becomes
// *Other.
//
// The error is always *fault.Errors and lists every problem found, in the
// order of the input, up to maxIssues. A fault of syntax, a name given twice or
// a limit ends the reading; its issue is Fatal. Details quote nothing of the
// input. A path does hold the names of elements.
//
// The strings of the resource share one copy of body; body itself is not kept.
//
// Source: FHIR R4 4.0.1, JSON representation of resources and data types.
func Decode(body []byte, limits Limits) (Resource, error) {
	limits = limits.orDefault()
	if len(body) > limits.Bytes {
		issue := fault.Issue{
			Severity: fault.Fatal,
			Kind:     fault.TooLong,
			Detail:   fmt.Sprintf("found a body of %d bytes; expected at most %d", len(body), limits.Bytes),
		}
		return nil, &fault.Errors{Issues: []fault.Issue{issue}}
	}
	return newDecoder(body, string(body), limits).decode()
}

// decode reads the body.
func (d *decoder) decode() (Resource, error) {
	d.next()
	r := d.resource()
	d.finish()
	if len(d.issues) > 0 {
		return nil, &fault.Errors{Issues: d.issues}
	}
	return r, nil
}
