// Package fhir is the only place that knows wire shapes: a small FHIR R4 wire
// model, a strict JSON codec for it, its conversion from the protocol buffer
// messages of github.com/google/fhir/go, and a writer of their bytes.
package fhir
