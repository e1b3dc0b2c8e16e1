package fhirproto

import (
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
)

// valueOf is a pointer to a data type as a Value, so that an absent element is
// a nil Value and not a Value that holds a nil pointer.
func valueOf[T any, P interface {
	*T
	fhir.Value
}](p P) fhir.Value {
	if p == nil {
		return nil
	}
	return p
}

// textValue is a text as a fhir.Value of type T; an absent text is no Value.
func textValue[T interface {
	~string
	fhir.Value
}, S ~string](text S) fhir.Value {
	if text == "" {
		return nil
	}
	return T(text)
}

// noChoice refuses a choice element that is there without a choice being made.
func (r *reader) noChoice(name string) fhir.Value {
	r.report(fault.Structure, name, "found an element without a value; expected a value of one of its types")
	return nil
}
