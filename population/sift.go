package population

import (
	"strings"

	"evenreach.example/internal/fault"
	"evenreach.example/internal/fhir/fhirjson"
	"evenreach.example/internal/fhir/lexical"
)

// ofPatients are the types of resource that are read of a patient.
var ofPatients = map[string]bool{
	"Patient": true, "Observation": true, "Condition": true, "Procedure": true, "Encounter": true,
	"Goal": true, "CarePlan": true, "DiagnosticReport": true, "DetectedIssue": true,
}

// Sifted is what a line is about: a patient, something else, or nothing that can be told.
type Sifted struct {
	Patient string // id; empty if it is about no patient
	// Text is what stands for the line among the patient's: the line, or for one that is
	// no JSON a resource that says that something is missing.
	Text      []byte
	Elsewhere string     // type of a resource about something else
	Rejected  *Rejection // if there is neither
}

// missing stands among the lines of a patient for one that is not understood. The pipeline
// opens nothing by a record that it knows to be incomplete.
const missing = `{"resourceType":"OperationOutcome","issue":[{"severity":"error","code":"incomplete"}]}`

// Sift tells whom a line is about.
func Sift(at Place, text []byte) Sifted {
	head, isJSON := fhirjson.ReadHead(text)
	switch {
	case !isJSON:
		if patient, _, _ := patientOf(&head); patient != "" && ofPatients[head.Type] {
			return Sifted{Patient: patient, Text: []byte(missing)}
		}
		return rejected(at, head.Type, fault.Syntax, "not one object of JSON in UTF-8; whose it is cannot be told")
	case head.Type == "":
		return rejected(at, "", fault.Structure, "no resourceType; expected a resource of FHIR R4")
	case head.Type == "OperationOutcome":
		return rejected(at, head.Type, fault.InputIncomplete, "a message of the exporting server; what it says is missing is missing here")
	case !ofPatients[head.Type]:
		return Sifted{Elsewhere: head.Type}
	}
	patient, other, reason := patientOf(&head)
	switch {
	case other:
		return Sifted{Elsewhere: head.Type}
	case patient == "":
		return rejected(at, head.Type, fault.RequiredMissing, reason)
	}
	return Sifted{Patient: patient, Text: text}
}

func rejected(at Place, resource string, kind fault.Kind, reason string) Sifted {
	if !lexical.IsCode(resource) || len(resource) > longestType {
		resource = ""
	}
	r := rejection(at, resource, kind, reason)
	return Sifted{Rejected: &r}
}

// longestType is longer than any name of a type of FHIR. What is longer is the sender's text.
const longestType = 40

// patientOf is the id of the patient of a resource, or the reason why there is none. The
// same person under two ids is not guessed. Another is a Group, a Device or a Location.
func patientOf(h *fhirjson.Head) (id string, other bool, reason string) {
	if h.Type == "Patient" {
		if !lexical.IsID(h.ID) {
			return "", false, "no id; expected the id of the Patient"
		}
		return h.ID, false, ""
	}
	_, typeName, id, ok := lexical.SplitReference(lexical.WithoutVersion(h.Patient))
	switch {
	case ok && typeName == "Patient":
		return id, false, ""
	case ok:
		return "", true, ""
	case strings.HasPrefix(h.Patient, "urn:uuid:") && lexical.IsID(h.Patient[len("urn:uuid:"):]):
		return h.Patient, false, ""
	case h.Patient == "":
		return "", false, "no reference to a patient; expected Patient/ and an id in subject"
	}
	return "", false, "a reference to a patient that is not understood; expected Patient/ and an id"
}
