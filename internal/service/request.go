package service

import (
	"bytes"
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/intake"
	"evenreach.example/internal/record"
	"evenreach.example/internal/shoulder"
)

// A Request is the request for one assessment, by gRPC, REST or the command line.
type Request struct {
	Bundle *fhir.Bundle
	// Size is how many bytes it was sent in; 0 if the record was asked.
	Size int
	// Root is the FHIRPath of the Bundle in what was sent.
	Root string
	// Response is the answer of a record to the Bundle, nil if there is none, and
	// ResponseRoot its FHIRPath in what was sent.
	Response     *fhir.Bundle
	ResponseRoot string
	// Involved is the side under treatment; unknown to derive it from the Bundle.
	Involved shoulder.Side
	// AsOf is the evaluation time as a FHIR date or dateTime; empty for the time
	// of the latest accepted measurement.
	AsOf   string
	Output record.Output
	// Documents asks for the PDF and the chart in the DiagnosticReport.
	Documents bool
	// Sheet asks for one sheet to print in the DiagnosticReport.
	Sheet record.Sheet
	// Protocol is "id" or "id|version"; empty for the default.
	Protocol string
	// Language is the BCP 47 tag of the texts, and Force the symbol of the unit in which they
	// show forces; empty for the caller's preference, else that of the service.
	Language string
	Force    string
	// Place turns a FHIRPath into the Bundle into the place in what was sent, such as OBX[3]-5 of a message;
	// nil if that was FHIR.
	Place func(path string) string
	// Unmapped are what of such an input could not be put into the Bundle.
	Unmapped []fault.Issue
	// Problems are those of the parameters. Run refuses a Request that has any,
	// together with what is wrong with its Bundle.
	Problems []fault.Issue
}

// byteOrderMark is what some programs write before a text in UTF-8.
//
// Source: RFC 8259, section 8.1: it may be ignored.
const byteOrderMark = "\xEF\xBB\xBF"

// locate names the places of issues as what was sent has them.
func (q *Request) locate(issues []fault.Issue) {
	if q.Place == nil {
		return
	}
	for i := range issues {
		issues[i].Path = q.Place(issues[i].Path)
	}
}

// locateReading names every place in a reading as what was sent has it.
func (q *Request) locateReading(r *intake.Reading) {
	if q.Place == nil {
		return
	}
	r.Issues = append(r.Issues, q.Unmapped...)
	q.locate(r.Issues)
	fault.Sort(r.Issues)
	for i := range r.Sources {
		r.Sources[i].Path = q.Place(r.Sources[i].Path)
	}
}

// fromResponse makes a Request of a response to the questionnaire alone.
func fromResponse(r *fhir.QuestionnaireResponse) Request {
	const at = "Bundle.entry[0].resource"
	return Request{
		Bundle: &fhir.Bundle{BundleType: "collection", Entry: []fhir.Entry{{Resource: r}}}, Root: "Bundle",
		Place: func(path string) string {
			if rest, ok := strings.CutPrefix(path, at); ok {
				return "QuestionnaireResponse" + rest
			}
			return strings.Replace(path, "Bundle", "QuestionnaireResponse", 1)
		},
	}
}

// Decode reads a Request from FHIR JSON: a bare Bundle, Parameters, or a QuestionnaireResponse. The error
// is always *fault.Errors.
func Decode(body []byte) (Request, error) { return DecodeWithin(body, fhir.DefaultLimits) }

// DecodeWithin is Decode with other limits, for what does not come from a stranger.
func DecodeWithin(body []byte, limits fhir.Limits) (Request, error) {
	resource, err := fhirjson.DecodeInput(bytes.TrimPrefix(body, []byte(byteOrderMark)), limits)
	if err != nil {
		return Request{}, err
	}
	switch r := resource.(type) {
	case *fhir.Bundle:
		return Request{Bundle: r, Size: len(body), Root: "Bundle"}, nil
	case *fhir.Parameters:
		q := fromParameters(r)
		q.Size = len(body)
		return q, nil
	case *fhir.QuestionnaireResponse:
		return fromResponse(r), nil
	default:
		refusal := fault.Refuse(fault.WrongResource, r.Type(), "found another resource; expected a Bundle, Parameters or a QuestionnaireResponse")
		return Request{}, refusal
	}
}
