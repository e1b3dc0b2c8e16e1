package service

import (
	"fmt"
	"strconv"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/record"
	"evenreach.example/internal/shoulder"
)

// parameterReader reads the operation's parameters and collects what is wrong
// with them.
type parameterReader struct {
	request Request
	seen    map[string]bool
}

// parameterNames are the parameters of the operation, each with its reader.
var parameterNames = map[string]func(*parameterReader, string, *fhir.Parameter){
	"bundle":       (*parameterReader).bundle,
	"involvedSide": (*parameterReader).involvedSide,
	"asOf":         (*parameterReader).asOf,
	"output":       (*parameterReader).output,
	"protocol":     (*parameterReader).protocol,
	"documents":    (*parameterReader).documents,
	"sheet":        (*parameterReader).sheet,
	"response":     (*parameterReader).response,
	"language":     (*parameterReader).language,
	"forceUnit":    (*parameterReader).forceUnit,
}

// fromParameters reads a Request from Parameters. What is wrong with them goes
// into its Problems.
func fromParameters(p *fhir.Parameters) Request {
	r := parameterReader{seen: map[string]bool{}}
	for i := range p.Parameter {
		r.parameter(pathOf(i), &p.Parameter[i])
	}
	if !r.seen["bundle"] {
		r.refuse(fault.RequiredMissing, "Parameters.parameter", "found no parameter bundle; expected one, with a Bundle as its resource", "")
	}
	return r.request
}

// pathOf is the place of a parameter.
func pathOf(i int) string { return "Parameters.parameter[" + strconv.Itoa(i) + "]" }

func (r *parameterReader) parameter(path string, p *fhir.Parameter) {
	read, known := parameterNames[p.Name]
	switch {
	case !known:
		r.refuse(fault.BadParameter, path+".name", "found no parameter of the operation; expected bundle, involvedSide, asOf, output, protocol, documents, sheet, response, language or forceUnit", p.Name)
	case r.seen[p.Name]:
		r.refuse(fault.BadParameter, path, "found the parameter "+p.Name+" again; expected it once", "")
	case len(p.Part) > 0:
		r.refuse(fault.BadParameter, path+".part", "found parts; expected none in the parameter "+p.Name, "")
	default:
		read(r, path, p)
	}
	r.seen[p.Name] = true
}

func (r *parameterReader) bundle(path string, p *fhir.Parameter) {
	bundle, ok := p.Resource.(*fhir.Bundle)
	if !ok {
		r.refuse(fault.WrongResource, path+".resource", "found no Bundle; expected a Bundle as the resource of the parameter", "")
		return
	}
	r.request.Bundle, r.request.Root = bundle, path+".resource"
}

func (r *parameterReader) response(path string, p *fhir.Parameter) {
	bundle, ok := p.Resource.(*fhir.Bundle)
	if !ok || bundle.BundleType != transactionResponse {
		r.refuse(fault.WrongResource, path+".resource", "found no answer to a transaction; expected a Bundle of the type transaction-response as the resource of the parameter", "")
		return
	}
	r.request.Response, r.request.ResponseRoot = bundle, path+".resource"
}

func (r *parameterReader) involvedSide(path string, p *fhir.Parameter) {
	text, ok := r.text(path, p)
	switch {
	case !ok:
	case text == shoulder.Right.String():
		r.request.Involved = shoulder.Right
		return
	case text == shoulder.Left.String():
		r.request.Involved = shoulder.Left
		return
	default:
		r.refuse(fault.BadParameter, path+".value", "involvedSide: expected right or left", text)
	}
	// The request is refused; a side keeps the Bundle from being blamed for
	// not telling one.
	r.request.Involved = shoulder.Right
}

func (r *parameterReader) asOf(path string, p *fhir.Parameter) {
	switch v := p.Value.(type) {
	case fhir.Date:
		r.request.AsOf = string(v)
	case fhir.DateTime:
		r.request.AsOf = string(v)
	default:
		r.refuse(fault.BadParameter, path, "asOf: expected valueDate or valueDateTime", "")
	}
}

func (r *parameterReader) output(path string, p *fhir.Parameter) {
	text, ok := r.text(path, p)
	if !ok {
		return
	}
	output, ok := outputs[text]
	if !ok {
		r.refuse(fault.BadParameter, path+".value", "output: expected transaction, living-transaction, collection or check", text)
	}
	r.request.Output = output
}

// outputs are the kinds of answer by the codes of the parameter output.
var outputs = map[string]record.Output{
	"transaction": record.Transaction,
	"collection":  record.Collection,
	"check":       record.Check,

	"living-transaction": record.LivingTransaction,
}

func (r *parameterReader) protocol(path string, p *fhir.Parameter) {
	r.request.Protocol, _ = r.text(path, p)
}

func (r *parameterReader) documents(path string, p *fhir.Parameter) {
	wanted, ok := p.Value.(fhir.Boolean)
	if !ok {
		r.refuse(fault.BadParameter, path, "documents: expected true or false, as valueBoolean", "")
	}
	r.request.Documents = bool(wanted)
}

func (r *parameterReader) sheet(path string, p *fhir.Parameter) {
	text, ok := r.text(path, p)
	if !ok {
		return
	}
	sheet, ok := record.SheetOf(text)
	if !ok {
		r.refuse(fault.BadParameter, path+".value", "sheet: expected report, patient, home or note", text)
	}
	r.request.Sheet = sheet
}

func (r *parameterReader) language(path string, p *fhir.Parameter) {
	text, ok := r.text(path, p)
	if !ok {
		return
	}
	if problem := languageProblem(text); problem != "" {
		r.refuse(fault.BadParameter, path+".value", "language: "+problem, text)
	}
	r.request.Language = text
}

func (r *parameterReader) forceUnit(path string, p *fhir.Parameter) {
	text, ok := r.text(path, p)
	if !ok {
		return
	}
	if problem := forceProblem(text); problem != "" {
		r.refuse(fault.BadParameter, path+".value", "forceUnit: "+problem, text)
	}
	r.request.Force = text
}

// text is the value of a parameter that is a code or a string.
func (r *parameterReader) text(path string, p *fhir.Parameter) (string, bool) {
	switch v := p.Value.(type) {
	case fhir.Code:
		return string(v), true
	case fhir.String:
		return string(v), true
	}
	r.refuse(fault.BadParameter, path, p.Name+": expected valueCode or valueString", "")
	return "", false
}

// refuse reports a problem. What was found is quoted in the answer only.
func (r *parameterReader) refuse(kind fault.Kind, path, detail, found string) {
	issue := fault.Issue{Severity: fault.Error, Kind: kind, Path: path, Detail: detail}
	if found != "" {
		issue.Diagnostic = fmt.Sprintf("found %.80q", found)
	}
	r.request.Problems = append(r.request.Problems, issue)
}
