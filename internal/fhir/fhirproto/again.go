package fhirproto

import (
	"bytes"
	"hash/maphash"

	"evenreach.example/internal/fhir"
)

// memory holds values of one type that were read, each with the message it was read
// from, at the place that a digest of the message says. The Observations of a history
// repeat most of their values byte by byte: the category, the codes, the patient.
type memory[T any] [memorySize]known[T]

// known is a value with the message it was read from.
type known[T any] struct {
	from  message
	depth int // of the place where it was read
	value *T
}

// memorySize is how many values of a type are remembered: an Observation has fewer
// concepts.
const memorySize = 32

// again is a value, read anew only if its message is not remembered. One that was read
// at a lesser depth might reach below the limit here, and one with a problem is not
// remembered, because that is to be told at each place.
func again[T any](r *reader, seen *memory[T], m message, v *T, read func(*reader, message, *T)) {
	k := &seen[maphash.Bytes(r.seed, m)%memorySize]
	if k.value != nil && k.depth >= len(r.steps) && bytes.Equal(k.from, m) {
		*v = *k.value
		return
	}
	before := len(r.issues)
	read(r, m, v)
	if r.malformed == nil && len(r.issues) == before && before < fhir.MaxIssues {
		*k = known[T]{m, len(r.steps), v}
	}
}
