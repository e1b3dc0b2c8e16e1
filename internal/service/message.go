package service

import (
	"fmt"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/fhirproto"
	"evenreach.example/internal/record"
	"evenreach.example/internal/service/encoded"
	"evenreach.example/internal/shoulder"
)

// FromMessage reads a Request from its protocol buffers. The error is always
// *fault.Errors and lists every problem of the Bundle and the other fields.
func FromMessage(m *encoded.AssessRequest) (Request, error) {
	request := Request{
		Root: "Bundle", AsOf: m.GetAsOf(), Protocol: m.GetProtocol(), Documents: m.GetDocuments(),
		Language: m.GetLanguage(), Force: m.GetForceUnit(),
	}
	var ok bool
	if request.Involved, ok = sides[m.GetInvolvedSide()]; !ok {
		request.Involved = shoulder.Right // see parameterReader.involvedSide
		request.Problems = append(request.Problems, badField("involved_side", int32(m.GetInvolvedSide()), "SIDE_RIGHT or SIDE_LEFT"))
	}
	if request.Output, ok = outputKinds[m.GetOutput()]; !ok {
		request.Problems = append(request.Problems, badField("output", int32(m.GetOutput()), "OUTPUT_TRANSACTION, OUTPUT_LIVING_TRANSACTION, OUTPUT_COLLECTION or OUTPUT_CHECK"))
	}
	request.readTexts(m)
	if err := request.readResponse(m); err != nil {
		return Request{}, withProblems(request.Problems, err)
	}
	bundle, err := fhirproto.ReadInput(m.GetBundle()...)
	if err != nil {
		return Request{}, withProblems(request.Problems, err)
	}
	request.Bundle = bundle
	return request, nil
}

// readTexts checks what the fields say of the texts and the sheet.
func (q *Request) readTexts(m *encoded.AssessRequest) {
	if problem := languageProblem(q.Language); problem != "" && q.Language != "" {
		q.Problems = append(q.Problems, badText("language", problem, q.Language))
	}
	if problem := forceProblem(q.Force); problem != "" && q.Force != "" {
		q.Problems = append(q.Problems, badText("force_unit", problem, q.Force))
	}
	var ok bool
	if q.Sheet, ok = sheets[m.GetSheet()]; !ok {
		q.Problems = append(q.Problems, badField("sheet", int32(m.GetSheet()), "SHEET_REPORT, SHEET_PATIENT, SHEET_HOME or SHEET_NOTE"))
	}
}

// readResponse reads the answer of a record to the Bundle, if it is given.
func (q *Request) readResponse(m *encoded.AssessRequest) error {
	if len(m.GetResponse()) == 0 {
		return nil
	}
	response, err := fhirproto.Read(m.GetResponse()...)
	if err != nil {
		issues := asErrors(err).Issues
		for i := range issues {
			issues[i].Path, issues[i].Detail = "", "response: "+issues[i].Detail // paths are rooted at the bundle
		}
		return &fault.Errors{Issues: issues}
	}
	if response.BundleType != transactionResponse {
		q.Problems = append(q.Problems, fault.Issue{Severity: fault.Error, Kind: fault.WrongResource, Detail: "response: expected a Bundle of the type transaction-response"})
		return nil
	}
	q.Response = response
	return nil
}

// transactionResponse is the type of the Bundle that a record answers a transaction with.
const transactionResponse = "transaction-response"

var sides = map[encoded.Side]shoulder.Side{
	encoded.Side_SIDE_UNSPECIFIED: shoulder.SideUnknown,
	encoded.Side_SIDE_RIGHT:       shoulder.Right,
	encoded.Side_SIDE_LEFT:        shoulder.Left,
}

var sheets = map[encoded.Sheet]record.Sheet{
	encoded.Sheet_SHEET_UNSPECIFIED: record.NoSheet,
	encoded.Sheet_SHEET_REPORT:      record.ReportSheet,
	encoded.Sheet_SHEET_PATIENT:     record.PatientSheet,
	encoded.Sheet_SHEET_HOME:        record.HomeSheet,
	encoded.Sheet_SHEET_NOTE:        record.NoteSheet,
}

var outputKinds = map[encoded.Output]record.Output{
	encoded.Output_OUTPUT_UNSPECIFIED: record.Transaction,
	encoded.Output_OUTPUT_TRANSACTION: record.Transaction,
	encoded.Output_OUTPUT_COLLECTION:  record.Collection,
	encoded.Output_OUTPUT_CHECK:       record.Check,

	encoded.Output_OUTPUT_LIVING_TRANSACTION: record.LivingTransaction,
}

func badField(field string, found int32, expected string) fault.Issue {
	return fault.Issue{
		Severity:   fault.Error,
		Kind:       fault.BadParameter,
		Detail:     field + ": expected " + expected,
		Diagnostic: fmt.Sprintf("found the number %d", found),
	}
}
