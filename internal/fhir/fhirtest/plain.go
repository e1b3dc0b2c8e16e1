package fhirtest

import "encoding/json"

// Plain is a Bundle that this package writes, as structs that encoding/json
// writes as the same text but for the order of members: what a codec is held
// against. It is nil for a body that they do not hold whole.
func Plain(body []byte) any {
	var plain plainBundle
	if err := json.Unmarshal(body, &plain); err != nil {
		return nil
	}
	if text, err := json.Marshal(plain); err != nil || len(text) < len(body)*9/10 {
		return nil
	}
	return plain
}

// The structs of Plain: what the Bundle holds, in one struct
// for all resource types.
type (
	plainBundle struct {
		ResourceType string       `json:"resourceType"`
		Type         string       `json:"type"`
		Timestamp    string       `json:"timestamp"`
		Entry        []plainEntry `json:"entry"`
	}
	plainEntry struct {
		FullURL  string        `json:"fullUrl"`
		Resource plainResource `json:"resource"`
	}
	plainResource struct {
		ResourceType       string            `json:"resourceType"`
		ID                 string            `json:"id"`
		Meta               *plainMeta        `json:"meta,omitempty"`
		Identifier         []plainIdentifier `json:"identifier,omitempty"`
		Name               []plainName       `json:"name,omitempty"`
		BirthDate          string            `json:"birthDate,omitempty"`
		ClinicalStatus     *plainConcept     `json:"clinicalStatus,omitempty"`
		VerificationStatus *plainConcept     `json:"verificationStatus,omitempty"`
		Status             string            `json:"status,omitempty"`
		Category           []plainConcept    `json:"category,omitempty"`
		Code               *plainConcept     `json:"code,omitempty"`

		Subject           *plainReference   `json:"subject,omitempty"`
		EffectiveDateTime string            `json:"effectiveDateTime,omitempty"`
		OnsetDateTime     string            `json:"onsetDateTime,omitempty"`
		PerformedDateTime string            `json:"performedDateTime,omitempty"`
		Issued            string            `json:"issued,omitempty"`
		Performer         []plainReference  `json:"performer,omitempty"`
		ValueQuantity     *plainQuantity    `json:"valueQuantity,omitempty"`
		Interpretation    []plainConcept    `json:"interpretation,omitempty"`
		Note              []plainAnnotation `json:"note,omitempty"`
		BodySite          any               `json:"bodySite,omitempty"`
		Method            *plainConcept     `json:"method,omitempty"`
		ReferenceRange    []plainRange      `json:"referenceRange,omitempty"`
		Component         []plainComponent  `json:"component,omitempty"`
	}
	plainName struct {
		Family string   `json:"family"`
		Given  []string `json:"given"`
	}
	plainMeta struct {
		Profile []string `json:"profile"`
	}
	plainIdentifier struct {
		System string `json:"system"`
		Value  string `json:"value"`
	}
	plainCoding struct {
		System  string `json:"system,omitempty"`
		Code    string `json:"code,omitempty"`
		Display string `json:"display,omitempty"`
	}
	plainConcept struct {
		Coding []plainCoding `json:"coding,omitempty"`
		Text   string        `json:"text,omitempty"`
	}
	plainReference struct {
		Reference string `json:"reference"`
	}
	plainQuantity struct {
		Value  json.Number `json:"value"`
		Unit   string      `json:"unit"`
		System string      `json:"system"`
		Code   string      `json:"code"`
	}
	plainAnnotation struct {
		Text string `json:"text"`
	}
	plainRange struct {
		Low  *plainQuantity `json:"low,omitempty"`
		High *plainQuantity `json:"high,omitempty"`
		Text string         `json:"text,omitempty"`
	}
	plainComponent struct {
		Code                 plainConcept  `json:"code"`
		ValueCodeableConcept *plainConcept `json:"valueCodeableConcept,omitempty"`
	}
)
