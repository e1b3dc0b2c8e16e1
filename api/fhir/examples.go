package fhirapi

import (
	_ "embed"

	"evenreach.example/internal/assess"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/protocol"
	"evenreach.example/internal/record"
)

// The ids of the examples.
const (
	exampleRequest = "example-request"
	exampleAnswer  = "example-answer"
)

// requestText is the invented record of testdata/scenarios under another name;
// a test holds the two together.
//
//go:embed Bundle-example-request.json
var requestText []byte

// examples are a request and the answer that it gets, which is computed here so
// that it cannot be out of date.
func examples() []Resource {
	decoded, err := fhirjson.Decode(requestText, fhir.DefaultLimits)
	request, isBundle := decoded.(*fhir.Bundle)
	if err != nil || !isBundle {
		panic("fhirapi: example request: no readable Bundle")
	}
	reading, err := intake.Read(intake.Input{Bundle: request})
	if err != nil {
		panic("fhirapi: example request: " + err.Error())
	}
	answer := record.Build(assess.Assess(&reading.Episode, protocol.Default(), reading.AsOf), reading, record.Options{Words: words, Version: "example"})
	answer.ID = exampleAnswer
	return []Resource{
		{Type: request.Type(), ID: exampleRequest, JSON: compact(requestText)},
		{Type: answer.Type(), ID: exampleAnswer, JSON: fhirjson.Encode(answer)},
	}
}

// compact is JSON without white space.
func compact(text []byte) []byte {
	value := raw(text).Clone()
	if err := value.Compact(); err != nil {
		panic("fhirapi: " + err.Error())
	}
	return value
}
