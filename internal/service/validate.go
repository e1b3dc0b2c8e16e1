package service

import (
	"bytes"
	"context"
	"errors"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/record"
)

// validate says what of a Bundle is understood, dropped and missing, as the output check does. What would be refused is
// said in the same way: to ask about what is wrong is no mistake.
//
// Source: FHIR R4 4.0.1, operation validate.
func (s *Server) validate(ctx context.Context, call operationCall) ([]byte, error) {
	q, err := toValidate(call.body)
	if err == nil {
		var answer *Answer
		if answer, err = s.compute(ctx, q); err == nil {
			return encodeStage(ctx, answer.Resource()), nil
		}
	}
	refused, ok := errors.AsType[*fault.Errors](err)
	if !ok || !isAboutTheInput(refused.Kind()) {
		return nil, err
	}
	return encodeStage(ctx, record.Outcome(diagnosed(refused.Issues))), nil
}

// isAboutTheInput reports whether a refusal says something about a Bundle that was read to its end.
func isAboutTheInput(kind fault.Kind) bool {
	return kind > fault.DuplicateName && kind != fault.BadParameter && kind != fault.TooManyTrials && edge[kind].http < 500
}

// toValidate reads what is to be validated: a Bundle, or Parameters with it as resource.
func toValidate(body []byte) (Request, error) {
	resource, err := fhirjson.DecodeInput(bytes.TrimPrefix(body, []byte(byteOrderMark)), fhir.DefaultLimits)
	if err != nil {
		return Request{}, err
	}
	switch r := resource.(type) {
	case *fhir.Bundle:
		return Request{Bundle: r, Size: len(body), Root: "Bundle", Output: record.Check}, nil
	case *fhir.Parameters:
		for i := range r.Parameter {
			bundle, ok := r.Parameter[i].Resource.(*fhir.Bundle)
			if r.Parameter[i].Name == "resource" && ok && len(r.Parameter) == 1 {
				return Request{Bundle: bundle, Size: len(body), Root: "Parameters.parameter[0].resource", Output: record.Check}, nil
			}
		}
		return Request{}, fault.Refuse(fault.BadParameter, "Parameters.parameter", "expected one parameter resource, with a Bundle; against a profile nothing is validated here")
	}
	return Request{}, fault.Refuse(fault.BadParameter, resource.Type(), "found another resource; expected a Bundle, or Parameters with it as resource")
}
