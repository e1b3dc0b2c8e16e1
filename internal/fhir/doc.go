// Package fhir is the only place that knows wire shapes: a small FHIR R4 wire
// model, a strict JSON codec for it, and its conversion from and to the
// protocol buffer messages of github.com/google/fhir/go.
package fhir
