package fhirapi

// codeSystem is a FHIR CodeSystem with all its codes.
type codeSystem struct {
	about
	CaseSensitive bool      `json:"caseSensitive"`
	ValueSet      string    `json:"valueSet"`
	Content       string    `json:"content"`
	Count         int       `json:"count"`
	Concept       []concept `json:"concept"`
}

// The ids of our code systems.
const (
	shoulderCodes   = "shoulder"
	inputIssueCodes = "input-issue"
)

// codeSystems are our own codes: those of a shoulder re-check, and those of
// what can be wrong with an input.
func codeSystems() []Resource {
	return []Resource{
		codesOf(shoulderCodes, "Shoulder rotation re-check",
			"Codes for what no standard has a code for: isometric strength of shoulder rotation with arm position and support, and what Evenreach computes from it.",
			concepts()),
		codesOf(inputIssueCodes, "Input issue",
			"What can be wrong with, or noteworthy about, an input; the coding of OperationOutcome.issue.details.",
			inputIssues()),
	}
}

func codesOf(id, title, description string, all []concept) Resource {
	return resource("CodeSystem", id, codeSystem{
		about:         describe("CodeSystem", id, title, description),
		CaseSensitive: true,
		ValueSet:      canonical("ValueSet", id),
		Content:       "complete",
		Count:         len(all),
		Concept:       all,
	})
}
