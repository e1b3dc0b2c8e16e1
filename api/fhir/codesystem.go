package fhirapi

import "evenreach.example/internal/cdshooks"

// codeSystem is a FHIR CodeSystem with all its codes.
type codeSystem struct {
	about
	CaseSensitive bool            `json:"caseSensitive"`
	ValueSet      string          `json:"valueSet"`
	Content       string          `json:"content"`
	Count         int             `json:"count"`
	Property      []codeProperty  `json:"property,omitempty"`
	Concept       []listedConcept `json:"concept"`
}

// The ids of our code systems.
const (
	shoulderCodes   = "shoulder"
	inputIssueCodes = "input-issue"
)

// codeSystems are our own codes: those of a shoulder re-check, those of what can be wrong with an input, and those of
// cards.
func codeSystems() []Resource {
	return []Resource{
		codesOf(shoulderCodes, "Shoulder rotation re-check",
			"Codes for what no standard has a code for: isometric strength of shoulder rotation with arm position and support, and what Evenreach computes from it.",
			concepts(), retiredCodes()...),
		codesOf(inputIssueCodes, "Input issue",
			"What can be wrong with, or noteworthy about, an input; the coding of OperationOutcome.issue.details.",
			inputIssues()),
		codesOf(cdshooks.TopicCodes, "Topic of a card", "What a card of CDS Hooks is about.", ofCards(cdshooks.Topics())),
		codesOf(cdshooks.ReasonCodes, "Reason to override a card", "Why a user did not follow a card of CDS Hooks.", ofCards(cdshooks.Reasons)),
	}
}

// ofCards are codes of cards, which are defined by what they are called.
func ofCards(codings []cdshooks.Coding) (all []concept) {
	for _, c := range codings {
		all = append(all, concept{c.Code, c.Display, c.Display + "."})
	}
	return all
}

func codesOf(id, title, description string, inUse []concept, gone ...retired) Resource {
	all := listedOf(inUse, gone)
	var properties []codeProperty
	if len(gone) > 0 {
		properties = retirementProperties
	}
	return resource("CodeSystem", id, codeSystem{
		about:         describe("CodeSystem", id, title, description),
		CaseSensitive: true,
		ValueSet:      canonical("ValueSet", id),
		Content:       "complete",
		Count:         len(all),
		Property:      properties,
		Concept:       all,
	})
}
