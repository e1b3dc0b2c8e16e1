package service

import (
	"context"
	"net/http"
	"regexp"
	"strings"

	"evenreach.example/internal/apply"
	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/record"
)

// applyPath is the address of the operation apply of a published PlanDefinition.
var applyPath = regexp.MustCompile(`^` + fhirBase + `/PlanDefinition/(?:([^/$]+)/)?\$apply$`)

// applyOperation is the operation apply at an address.
func (s *Server) applyOperation(path string) (operation, bool) {
	m := applyPath.FindStringSubmatch(path)
	if m == nil || !s.isOffered("apply") {
		return operation{}, false
	}
	pattern, id := fhirBase+"/PlanDefinition/$apply", m[1]
	if id != "" {
		pattern = fhirBase + "/PlanDefinition/{id}/$apply"
	}
	return operation{pattern, []string{http.MethodPost}, nil, func(ctx context.Context, call operationCall) ([]byte, error) {
		return s.apply(ctx, call, id)
	}}, true
}

// apply answers by the CarePlan that a PlanDefinition comes to for a patient: of what is sent as data, or of what the
// configured record has. Nothing is stored.
//
// Source: FHIR R4 4.0.1, operation apply of PlanDefinition.
func (s *Server) apply(ctx context.Context, call operationCall, id string) ([]byte, error) {
	read, err := readApply(call.body, id)
	if err != nil {
		return nil, err
	}
	q := read.request
	if q.Bundle == nil {
		if q, err = s.applied(ctx, read); err != nil {
			return nil, err
		}
	}
	answer, err := s.compute(ctx, q)
	if err != nil {
		return nil, err
	}
	return apply.CarePlan(answer.Bundle, read.context)
}

// applied is the request for a patient of the record.
func (s *Server) applied(ctx context.Context, read *applyCall) (Request, error) {
	patient, ok := strings.CutPrefix(read.subject, "Patient/")
	if !s.hasRecord(ctx) || !ok {
		return Request{}, fault.Refuse(fault.RequiredMissing, "Parameters.parameter", "found no parameter data with a Bundle; expected one, or a configured record and a subject such as Patient/1")
	}
	if err := s.capacity.wait(ctx, s.record.asking); err != nil {
		return Request{}, err
	}
	defer s.record.asking.leave()
	return s.fromRecord(ctx, patient, read.request)
}

// applyCall is a call of apply.
type applyCall struct {
	request Request
	subject string
	context apply.Context
}

// applyNames are the parameters of apply. Those with false change nothing here: the plan is the same for every setting,
// and in the language of the service.
var applyNames = map[string]bool{
	"planDefinition": true, "subject": true, "encounter": true, "practitioner": true, "data": true, "involvedSide": true, "asOf": true,
	"organization": false, "userType": false, "userLanguage": false, "userTaskContext": false, "setting": false, "settingContext": false,
}

// readApply reads Parameters of apply. Those of the assessment are read as there.
func readApply(body []byte, id string) (*applyCall, error) {
	resource, err := fhirjson.DecodeInput(body, fhir.DefaultLimits)
	if err != nil {
		return nil, err
	}
	p, ok := resource.(*fhir.Parameters)
	if !ok {
		return nil, fault.Refuse(fault.WrongResource, resource.Type(), "found another resource; expected Parameters")
	}
	r := applyReader{applyCall: applyCall{request: Request{Size: len(body), Root: "Bundle", Output: record.Collection, Protocol: id}}, seen: map[string]bool{}}
	r.reader.seen = map[string]bool{}
	for i := range p.Parameter {
		r.parameter(pathOf(i), &p.Parameter[i])
	}
	return r.call(id)
}

// applyReader collects what is wrong with the parameters.
type applyReader struct {
	applyCall
	reader parameterReader
	seen   map[string]bool
}

func (r *applyReader) parameter(path string, p *fhir.Parameter) {
	used, known := applyNames[p.Name]
	switch {
	case !known:
		r.reader.refuse(fault.BadParameter, path+".name", "found no parameter of the operation; expected those of apply of FHIR R4, data, involvedSide or asOf", p.Name)
	case r.seen[p.Name] && used:
		r.reader.refuse(fault.BadParameter, path, "found the parameter "+p.Name+" again; expected it once", "")
	case p.Name == "data":
		r.reader.bundle(path, p)
	case p.Name == "involvedSide" || p.Name == "asOf":
		parameterNames[p.Name](&r.reader, path, p)
	case used:
		*r.field(p.Name), _ = r.textOf(path, p)
	}
	r.seen[p.Name] = true
}

// field is where the text of a parameter goes.
func (r *applyReader) field(name string) *string {
	switch name {
	case "subject":
		return &r.subject
	case "encounter":
		return &r.context.Encounter
	case "practitioner":
		return &r.context.Practitioner
	}
	return &r.request.Protocol
}

// textOf is the value of a parameter that is a reference or a canonical address as text.
func (r *applyReader) textOf(path string, p *fhir.Parameter) (string, bool) {
	switch v := p.Value.(type) {
	case fhir.Canonical:
		return string(v), true
	case fhir.URI:
		return string(v), true
	case *fhir.Reference:
		return v.Reference, true
	}
	return r.reader.text(path, p)
}

// call is the call, if nothing is wrong with it.
func (r *applyReader) call(id string) (*applyCall, error) {
	if r.subject == "" {
		r.reader.refuse(fault.RequiredMissing, "Parameters.parameter", "found no parameter subject; expected one, such as Patient/1", "")
	}
	named := strings.TrimPrefix(r.request.Protocol, fhir.CanonicalPlanDefinition)
	switch {
	case id == "" && !r.seen["planDefinition"]:
		r.reader.refuse(fault.RequiredMissing, "Parameters.parameter", "found no parameter planDefinition; expected one, with the canonical address of a published PlanDefinition", "")
	case id != "" && r.seen["planDefinition"]:
		r.reader.refuse(fault.BadParameter, "Parameters.parameter", "found the parameter planDefinition beside the one in the address; expected one of the two", "")
	}
	read := r.reader.request
	r.request.Protocol = named
	r.request.Bundle, r.request.Involved, r.request.AsOf = read.Bundle, read.Involved, read.AsOf
	if read.Root != "" {
		r.request.Root = read.Root
	}
	if err := fault.New(read.Problems); err != nil {
		return nil, err
	}
	if read.Bundle != nil && !isAbout(read.Bundle, r.subject) {
		return nil, fault.Refuse(fault.PatientOther, read.Root, "found nothing of the subject in data; expected the subject's own measurements")
	}
	return &r.applyCall, nil
}

// isAbout reports whether something in a Bundle is of a subject, or is the subject.
func isAbout(b *fhir.Bundle, subject string) bool {
	for i := range b.Entry {
		resource := b.Entry[i].Resource
		if nested, ok := resource.(*fhir.Bundle); ok && isAbout(nested, subject) {
			return true
		}
		if of := fhir.SubjectOf(resource); of != nil && of.Reference == subject {
			return true
		}
		if common := fhir.CommonOf(resource); common != nil && (resource.Type()+"/"+common.ID == subject || b.Entry[i].FullURL == subject) {
			return true
		}
	}
	return false
}
