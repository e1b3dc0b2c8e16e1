package fhirapi

import (
	"fmt"
	"strings"

	"evenreach.example/internal/fhir"
	"evenreach.example/internal/wording"
)

// operationDefinition is a FHIR OperationDefinition.
type operationDefinition struct {
	about
	Kind         string      `json:"kind"`
	AffectsState bool        `json:"affectsState"`
	Code         string      `json:"code"`
	Comment      string      `json:"comment"`
	Resource     []string    `json:"resource,omitempty"`
	System       bool        `json:"system"`
	Type         bool        `json:"type"`
	Instance     bool        `json:"instance"`
	Parameter    []parameter `json:"parameter"`
}

type parameter struct {
	Name          string   `json:"name"`
	Use           string   `json:"use"`
	Min           int      `json:"min"`
	Max           string   `json:"max"`
	Documentation string   `json:"documentation"`
	Type          string   `json:"type"`
	Binding       *binding `json:"binding,omitempty"`
}

// operationCode names the one operation.
const operationCode = "assess-shoulder"

// limits says how much is read of one request.
func limits() string {
	l := fhir.DefaultLimits
	return fmt.Sprintf("A request has at most %d MiB, uncompressed, %d entries, those of nested Bundles included, %d levels of nested JSON objects and arrays, and elements of lists that take %d MiB of memory; more is refused with 413.", l.Bytes>>20, l.Entries, l.Depth, l.Lists>>20)
}

// operations are the OperationDefinitions of ours.
func operations() []Resource { return []Resource{operation(), patientOperation(), storeOperation()} }

// The ids of the OperationDefinitions for a patient of the configured record. The first has the same code as the
// operation that takes a Bundle.
const (
	patientOperationID = "patient-assess-shoulder"
	storeOperationID   = "patient-store-assessment"
	storeCode          = "store-assessment"
)

// patientOperation is the OperationDefinition of [base]/Patient/[id]/$assess-shoulder.
func patientOperation() Resource {
	about := describe("OperationDefinition", patientOperationID, "Assess the shoulder of a patient of the record",
		"As assess-shoulder, of what the configured record holds of the patient: all pages of it, or a refusal.")
	about.Name = "AssessPatientShoulder"
	return resource("OperationDefinition", patientOperationID, operationDefinition{
		about: about, Kind: "operation", Code: operationCode, Resource: []string{"Patient"}, Instance: true,
		Comment:   "Nothing is stored. Offered where a record is configured.",
		Parameter: withoutBundle("transaction (the default), living-transaction, collection or check, as of assess-shoulder."),
	})
}

// storeOperation is the OperationDefinition of POST [base]/Patient/[id]/$store-assessment.
func storeOperation() Resource {
	about := describe("OperationDefinition", storeOperationID, "Assess the shoulder of a patient of the record and store the answer",
		"Reads what the configured record holds of the patient and stores the answer there by a transaction.")
	about.Name = "StoreShoulderAssessment"
	return resource("OperationDefinition", storeOperationID, operationDefinition{
		about: about, Kind: "operation", Code: storeCode, Resource: []string{"Patient"}, Instance: true, AffectsState: true,
		Comment:   "What was changed since it was read is never overwritten: it is read again, once; after that the answer is stored beside it, as a proposal that says what it replaces. Done twice, it stores once. The token needs the scope system/Observation.cruds.",
		Parameter: withoutBundle("transaction (the default) or living-transaction, as of assess-shoulder."),
	})
}

// withoutBundle are the parameters of an operation on a patient.
func withoutBundle(outputs string) []parameter {
	return []parameter{
		{Name: "involvedSide", Use: "in", Max: "1", Type: "code", Documentation: "The side under treatment, as of assess-shoulder.", Binding: &binding{Strength: "required", ValueSet: canonical("ValueSet", "side")}},
		{Name: "asOf", Use: "in", Max: "1", Type: "dateTime", Documentation: "The time to assess for, as of assess-shoulder."},
		{Name: "output", Use: "in", Max: "1", Type: "code", Documentation: outputs},
		{Name: "protocol", Use: "in", Max: "1", Type: "string", Documentation: "The thresholds to decide by, as of assess-shoulder."},
		{Name: "documents", Use: "in", Max: "1", Type: "boolean", Documentation: "true: with the report as PDF and the chart, as of assess-shoulder."},
		{Name: "return", Use: "out", Min: 1, Max: "1", Type: "Resource", Documentation: "The answer, as of assess-shoulder."},
	}
}

// operation is the OperationDefinition of POST [base]/$assess-shoulder.
func operation() Resource {
	about := describe("OperationDefinition", operationCode, "Assess a shoulder",
		"From the measurements of one patient's shoulder over time: red flags, symmetry, change, the open step of each rotation, goals and a proposed plan, each traceable to the measurements and to the rule with its source. It supports the decision of a licensed clinician and does not replace it.")
	about.Name = "AssessShoulder"
	return resource("OperationDefinition", operationCode, operationDefinition{
		about: about,
		Kind:  "operation",
		Code:  operationCode,
		Comment: "The body is the Bundle itself, Parameters with the Bundle and more, or a QuestionnaireResponse to the published Questionnaire. Nothing is stored. " +
			"What of the input was left out, corrected or missing is listed in every answer. A refusal is an OperationOutcome whose expressions are rooted at what was sent. " +
			"Beside a bare Bundle the parameters involvedSide, asOf, output, protocol, documents, sheet, language and forceUnit may stand in the address. " +
			limits(),
		System: true,
		Parameter: []parameter{
			{
				Name: "bundle", Use: "in", Min: 1, Max: "1", Type: "Bundle",
				Documentation: "The record of one patient: Observations, and if known Patient, Condition, Procedure, Encounter, what clinicians state (examined-and-cleared-to-load, permitted-load, measurement-confirmed), and the results of earlier answers as the record gives them out: CarePlan, Goal, Observation, DiagnosticReport and DetectedIssue. A collection, or what a server sent: a searchset, the answer to a batch, a message.",
			},
			{
				Name: "involvedSide", Use: "in", Max: "1", Type: "code",
				Documentation: "The side under treatment; without it, that of the Conditions or cuff repairs in the Bundle.",
				Binding:       &binding{Strength: "required", ValueSet: canonical("ValueSet", "side")},
			},
			{
				Name: "asOf", Use: "in", Max: "1", Type: "dateTime",
				Documentation: "The time to assess for; without it, that of the latest measurement. A day without a time is its end. The same input for the same time gives the same answer.",
			},
			{
				Name: "output", Use: "in", Max: "1", Type: "code",
				Documentation: "transaction (the default): a Bundle to post to a FHIR server, where posting it twice stores once. Results of earlier answers in the bundle, with id and meta.versionId, are left where they say the same, and where they are ours alone updated or closed with ifMatch. living-transaction: the same, but the CarePlan and the Goals in the bundle are updated in place too; what a clinician accepted, changed or wrote is never overwritten, and without the stored ones they are created. collection: a Bundle to read. check: what of the input was understood, dropped or missing, without results.",
			},
			{
				Name: "protocol", Use: "in", Max: "1", Type: "string",
				Documentation: "The thresholds to decide by: id, or id|version, of a PlanDefinition that is published here; without it the service's own default.",
			},
			{
				Name: "documents", Use: "in", Max: "1", Type: "boolean",
				Documentation: "true: the DiagnosticReport also presents the report as PDF and the chart as PNG, which say the same as its text and cost many times the rest of the answer.",
			},
			{
				Name: "sheet", Use: "in", Max: "1", Type: "code",
				Documentation: "One sheet to print, as PDF in DiagnosticReport.presentedForm: report (one page), patient (what the patient is handed), home (the home programme) or note (the progress note).",
			},
			{
				Name: "response", Use: "in", Max: "1", Type: "Bundle",
				Documentation: "The answer of a record to the bundle, where that is a transaction: a Bundle of the type transaction-response, with as many entries in the same order. Its locations take the place of the addresses urn:uuid, so that the results refer to what the record holds.",
			},
			{
				Name: "language", Use: "in", Max: "1", Type: "code",
				Documentation: "The language of the texts, a tag of BCP 47; without it the one that Accept-Language prefers, else the service's own. What is told only in another language has another identifier, so that a record should ask in one. Refusals, and what was expected of an input, are in English. Languages: " + strings.Join(wording.Languages(), ", ") + ".",
			},
			{
				Name: "forceUnit", Use: "in", Max: "1", Type: "code",
				Documentation: "The unit in which texts show a force; without it the service's own. Quantities stay in N. Units: " + strings.Join(wording.ForceUnits(), ", ") + ".",
			},
			{
				Name: "return", Use: "out", Min: 1, Max: "1", Type: "Resource",
				Documentation: "A Bundle of type transaction or collection with Observations, the red flags first, Goals, a CarePlan, a DiagnosticReport, a Device and their Provenance; for the output check an OperationOutcome.",
			},
		},
	})
}
