package fhir

import (
	"google.golang.org/protobuf/encoding/protowire"

	"evenreach.example/internal/fault"
)

// resource writes a resource as the field of its type in a ContainedResource.
func (w *writer) resource(r *Resource) {
	switch r := (*r).(type) {
	case *Bundle:
		writeResource(w, 12, "bundle", r, (*writer).bundle)
	case *CarePlan:
		writeResource(w, 14, "carePlan", r, (*writer).carePlan)
	case *Condition:
		writeResource(w, 28, "condition", r, (*writer).condition)
	case *Device:
		writeResource(w, 35, "device", r, (*writer).device)
	case *DiagnosticReport:
		writeResource(w, 40, "diagnosticReport", r, (*writer).diagnosticReport)
	case *Encounter:
		writeResource(w, 44, "encounter", r, (*writer).encounter)
	case *Goal:
		writeResource(w, 56, "goal", r, (*writer).goal)
	case *Observation:
		writeResource(w, 96, "observation", r, (*writer).observation)
	case *OperationOutcome:
		writeResource(w, 99, "operationOutcome", r, (*writer).operationOutcome)
	case *Patient:
		writeResource(w, 103, "patient", r, (*writer).patient)
	case *Procedure:
		writeResource(w, 110, "procedure", r, (*writer).procedure)
	case *Provenance:
		writeResource(w, 111, "provenance", r, (*writer).provenance)
	default:
		w.report(fault.Internal, "", "found a resource of a type that is not written")
	}
}

// writeResource writes a resource, also an empty one, which has at least a type.
func writeResource[T any](w *writer, number protowire.Number, _ string, t *T, fields func(*writer, *T)) {
	if t == nil {
		w.report(fault.Internal, "", "found nothing to write")
		return
	}
	m := w.open(number)
	fields(w, t)
	w.close(m)
}

// common writes what every DomainResource may carry, but for the identifier,
// which R4 does not give to all.
func (w *writer) common(c *Common) {
	w.text(1, "id", c.ID)
	child(w, 2, "meta", c.Meta, (*writer).meta)
	w.text(3, "implicitRules", c.ImplicitRules)
	w.text(4, "language", c.Language)
	child(w, 5, "text", c.Text, (*writer).narrative)
	children(w, 6, "contained", c.Contained, (*writer).pack)
	w.extensionList(8, "extension", c.Extension)
	w.extensionList(9, "modifierExtension", c.ModifierExtension)
}

// containedType is the type of a resource that lies inside another one.
const containedType = "type.googleapis.com/google.fhir.r4.core.ContainedResource"

// pack writes a resource that lies inside another one, in a google.protobuf.Any.
func (w *writer) pack(r *Resource) {
	const typeURL, value = 1, 2
	w.characters(typeURL, "", containedType)
	m := w.open(value)
	w.resource(r)
	w.close(m)
}
