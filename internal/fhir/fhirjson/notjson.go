package fhirjson

import (
	"errors"

	"github.com/go-json-experiment/json/jsontext"

	"evenreach.example/internal/fault"
)

// NotJSON refuses a body that the JSON package could not read as what was expected: a
// "Bundle", or a "resource".
func NotJSON(err error, expected string) error {
	if errors.Is(err, jsontext.ErrDuplicateName) {
		return fault.Refuse(fault.DuplicateName, "", "a name twice in one object")
	}
	if _, ok := errors.AsType[*jsontext.SyntacticError](err); ok {
		return fault.Refuse(fault.Syntax, "", "not well-formed JSON in UTF-8")
	}
	return fault.Refuse(fault.Structure, "", "not the JSON of a "+expected)
}
